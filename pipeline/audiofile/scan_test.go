package audiofile

import (
	"bytes"
	"testing"

	"ledgerline/stages"

	"github.com/google/go-cmp/cmp"
)

// Three stereo frames of 16 bits: 0 and -1, 1/2 and -1/2, one step and the largest code.
var (
	threeFrames  = []byte{0, 0, 0, 0x80, 0, 0x40, 0, 0xC0, 1, 0, 0xFF, 0x7F}
	threeSamples = stages.Block{{0, 0.5, 0x1p-15}, {-1, -0.5, 1 - 0x1p-15}}
	stereo16     = ck("fmt ", plainFmt(1, 2, 44100, 16)...)
	list         = ck("LIST", []byte("INFOINAM\x04\x00\x00\x00abc\x00")...)
	threeInfo    = Info{Rate: 44100, Channels: 2, Frames: 3, Encoding: PCM16}
)

func join(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

// goodFiles all hold threeSamples.
func goodFiles() map[string][]byte {
	data := ck("data", threeFrames...)
	elsewhereData := claim("data", 0xFFFFFFFF, threeFrames...)
	oddChunk := ck("junk", 1, 2, 3)
	noPad := claim("junk", 3, 1, 2, 3)
	wrongSize := func(b []byte, size uint32) []byte {
		le.PutUint32(b[4:], size)
		return b
	}
	return map[string][]byte{
		"plain":           riff(stereo16, data),
		"fmt of 18 bytes": riff(ck("fmt ", append(plainFmt(1, 2, 44100, 16), 0, 0)...), data),
		"unknown chunks everywhere": riff(ck("bext", make([]byte, 602)...), stereo16, list, ck("PEAK"), data,
			list, ck("zzzz", 1, 2)),
		"odd chunk with its pad byte":  riff(oddChunk, stereo16, oddChunk, data, oddChunk),
		"odd chunk without a pad byte": riff(noPad, stereo16, noPad, data, noPad),
		"fmt after the data":           riff(data, stereo16),
		"RIFF size 0":                  wrongSize(riff(stereo16, data), 0),
		"RIFF size unknown":            wrongSize(riff(stereo16, data), 0xFFFFFFFF),
		"RIFF size too large":          wrongSize(riff(stereo16, data), 4000),
		"RIFF size too small":          wrongSize(riff(stereo16, list, data), 4),
		"something after the end":      join(riff(stereo16, data), []byte("\x00\x01\x02 anything")),
		"a few bytes after the end":    join(riff(stereo16, data), []byte{0, 0, 0}),
		"data size unknown":            wrongSize(riff(stereo16, elsewhereData), 0xFFFFFFFF),
		"data size unknown, cut":       wrongSize(riff(stereo16, elsewhereData, []byte{1, 2, 3}), 0xFFFFFFFF),
		"data size 0, not empty":       wrongSize(riff(stereo16, claim("data", 0, threeFrames...)), 0),
		"data size 0, not empty, cut":  riff(stereo16, claim("data", 0, threeFrames...), []byte{1}),
		"RF64":                         long("RF64", ds64Chunk(80, 12, 3, 0), stereo16, elsewhereData),
		"BW64":                         long("BW64", ds64Chunk(80, 12, 0, 0), stereo16, elsewhereData),
		"RF64 with 32-bit sizes":       form("RF64", ds64Chunk(0, 0, 0, 0), stereo16, data, list),
		"RF64 of a streaming writer": long("RF64", ds64Chunk(0, 0xFFFFFFFFFFFFFFFF, 0, 0), stereo16,
			elsewhereData),
		"RF64 that was never finished": long("RF64", ds64Chunk(0, 0, 0, 0), stereo16, elsewhereData),
		"RF64 with a table": long("RF64",
			ds64Chunk(112, 12, 3, 2, append(claim("junk", 2, 0, 0, 0, 0), claim("LIST", 4, 0, 0, 0, 0)...)...),
			claim("junk", 0xFFFFFFFF, 1, 2), stereo16, claim("LIST", 0xFFFFFFFF, 1, 2, 3, 4), elsewhereData),
	}
}

func TestContainers(t *testing.T) {
	for name, b := range goodFiles() {
		t.Run(name, func(t *testing.T) {
			r, err := openBytes(b)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(threeInfo, r.Info()); d != "" {
				t.Error(d)
			}
			if got := readAll(t, r, 2); !same(got, threeSamples) {
				t.Errorf("read %v, want %v", got, threeSamples)
			}
		})
	}
}

// An odd data chunk must not yield a sample more, nor hide what follows it.
func TestOddData(t *testing.T) {
	mono24 := ck("fmt ", plainFmt(1, 1, 48000, 24)...)
	frame := []byte{1, 0, 0x80}
	for name, b := range map[string][]byte{
		"pad byte":              riff(mono24, ck("data", frame...)),
		"pad byte, then LIST":   riff(mono24, ck("data", frame...), list),
		"other pad byte":        riff(mono24, claim("data", 3, frame...), []byte{'x'}, list),
		"no pad byte":           riff(mono24, claim("data", 3, frame...)),
		"no pad byte, LIST":     riff(mono24, claim("data", 3, frame...), list),
		"no pad byte, LIST, id": riff(mono24, claim("data", 3, frame...), list, ck("id3 ", 1)),
		"no pad byte, LIST, after the end": join(riff(mono24, claim("data", 3, frame...), list),
			[]byte("\x00\x01\x02 anything")),
	} {
		t.Run(name, func(t *testing.T) {
			r, err := openBytes(b)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := readAll(t, r, 5), (stages.Block{{-1 + 0x1p-23}}); !same(got, want) {
				t.Errorf("read %v, want %v", got, want)
			}
		})
	}
}

func TestEmptyAudio(t *testing.T) {
	for name, b := range map[string][]byte{
		"nothing follows":     riff(stereo16, ck("data")),
		"chunks follow":       riff(stereo16, ck("data"), list, ck("id3 ", 1, 2, 3)),
		"chunks follow, RF64": long("RF64", ds64Chunk(0, 0, 0, 0), stereo16, claim("data", 0xFFFFFFFF), list),
		"data size unknown":   riff(stereo16, claim("data", 0xFFFFFFFF)),
		"less than one frame": riff(stereo16, claim("data", 0xFFFFFFFF, 1, 2, 3)),
		"less than one, 0":    riff(stereo16, claim("data", 0, 1, 2, 3)),
		"fmt after it":        riff(ck("data"), stereo16),
	} {
		t.Run(name, func(t *testing.T) {
			r, err := openBytes(b)
			if err != nil {
				t.Fatal(err)
			}
			if got := readAll(t, r, 5); got.Frames() != 0 {
				t.Errorf("%d frames, want 0", got.Frames())
			}
		})
	}
}

func TestIgnored(t *testing.T) {
	data := ck("data", threeFrames...)
	for _, c := range []struct {
		name string
		file []byte
		want int64
	}{
		{"nothing", riff(stereo16, data), 0},
		{"chunks", riff(stereo16, data, list), 0},
		{"five bytes", join(riff(stereo16, data), make([]byte, 5)), 5},
		{"a chunk after the end", join(riff(stereo16, data), list), int64(len(list))},
		{"a streaming writer's data", riff(stereo16, claim("data", 0xFFFFFFFF, threeFrames...), []byte{1, 2}), 0},
	} {
		r, err := openBytes(c.file)
		if err != nil {
			t.Fatal(c.name, err)
		}
		if got := r.Ignored(); got != c.want {
			t.Errorf("%s: %d bytes ignored, want %d", c.name, got, c.want)
		}
	}
}
