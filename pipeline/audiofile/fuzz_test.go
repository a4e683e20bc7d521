package audiofile

import (
	"io"
	"path/filepath"
	"testing"

	"ledgerline/stages"
)

// Whatever the bytes, a file is refused by an error that says of what kind, or it has the
// frames it says, and they can all be read; those of FLAC are refused when they are come to.
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
	for _, e := range []Encoding{PCM16, PCM24, PCM32} {
		path := filepath.Join(f.TempDir(), "x.flac")
		b := whisper(2, 5000, e.WordBits())
		writeWith(f, path, Info{Rate: 44100, Channels: 2, Frames: 5000, Encoding: e}, Beside{Container: FLAC,
			Tags: exampleTags()}, b, 4096, longFrom)
		f.Add(bytesOf(f, path))
	}
	f.Add(aiff("AIFF", comm(1, 2, 24, rate44100, ""), bck("NAME", 'x'), ssnd(make([]byte, 6)...)))
	f.Add(aiff("AIFC", comm(2, 2, 16, rate44100, "sowt"), ssnd(make([]byte, 8)...)))
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := openBytes(b)
		if err != nil {
			if kind := kindOf(err); kind == nil {
				t.Fatalf("an error of no kind: %v", err)
			}
			return
		}
		i := r.Info()
		if checkShape(i.Channels, i.Rate) != nil || i.Frames < 0 ||
			!r.at.coded && i.Frames*i.frame() > int64(len(b)) || r.Ignored() < 0 {
			t.Fatalf("%v, %d bytes ignored, in a file of %d bytes", i, r.Ignored(), len(b))
		}
		block := stages.NewBlock(i.Channels, 7)
		var frames int64
		for n := 0; err == nil; frames += int64(n) {
			n, err = r.Read(block)
		}
		if r.at.coded && kindOf(err) == ErrCorrupt {
			return
		}
		if err != io.EOF || frames != i.Frames {
			t.Fatalf("%d frames read of %d, then %v", frames, i.Frames, err)
		}
	})
}
