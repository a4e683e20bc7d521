package audiofile

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Chunks that a file has beside its audio are named, on both sides of it, and
// not the ones that only store audio, nor what comes after the file's end.
func TestChunks(t *testing.T) {
	data := ck("data", threeFrames...)
	bext, cue := ck("bext", make([]byte, 602)...), ck("cue ", 0, 0, 0, 0)
	var many []byte
	var first []string
	for i := range 40 {
		name := fmt.Sprintf("x%03d", i)
		many = append(many, ck(name)...)
		if i < 32 {
			first = append(first, name)
		}
	}
	for _, c := range []struct {
		name string
		file []byte
		want []string
	}{
		{"very many", riff(stereo16, many, data), first},
		{"none", riff(stereo16, data), nil},
		{"both sides", riff(bext, stereo16, list, data, cue), []string{"bext", "LIST", "cue"}},
		{"twice", riff(stereo16, list, data, list), []string{"LIST"}},
		{
			"how it is stored", riff(ck("JUNK", 1, 2), stereo16, ck("fact", 3, 0, 0, 0), ck("PEAK"), data,
				ck("PAD ", 0)), nil,
		},
		{
			"RF64", long("RF64", ds64Chunk(80, 12, 3, 0), bext, stereo16, claim("data", 0xFFFFFFFF, threeFrames...)),
			[]string{"bext"},
		},
		{"after the end", join(riff(stereo16, data), list), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := openBytes(c.file)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(c.want, r.Chunks()); d != "" {
				t.Error(d)
			}
		})
	}
}
