package audiofile

import (
	"io"
	"testing"

	"ledgerline/stages"
)

// Whatever the bytes, a file is refused by an error that says of what kind, or it has the
// frames it says, and they can all be read.
func FuzzOpen(f *testing.F) {
	for _, b := range goodFiles() {
		f.Add(b)
	}
	for _, c := range badFiles() {
		if len(c.file) < 1000 {
			f.Add(c.file)
		}
	}
	for _, e := range OutputEncodings() {
		head, _ := header(Info{Rate: 48000, Channels: 6, Frames: 2, Encoding: e, Mask: 0x3F}, nil, 0)
		f.Add(append(head, make([]byte, 96)...))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := openBytes(b)
		if err != nil {
			if kind := kindOf(err); kind == nil {
				t.Fatalf("an error of no kind: %v", err)
			}
			return
		}
		i := r.Info()
		if checkShape(i.Channels, i.Rate) != nil || i.Frames < 0 || i.Frames*i.frame() > int64(len(b)) || r.Ignored() < 0 {
			t.Fatalf("%v, %d bytes ignored, in a file of %d bytes", i, r.Ignored(), len(b))
		}
		block := stages.NewBlock(i.Channels, 7)
		var frames int64
		for n := 0; err == nil; frames += int64(n) {
			n, err = r.Read(block)
		}
		if err != io.EOF || frames != i.Frames {
			t.Fatalf("%d frames read of %d, then %v", frames, i.Frames, err)
		}
	})
}
