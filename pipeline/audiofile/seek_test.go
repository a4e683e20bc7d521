package audiofile

import (
	"io"
	"path/filepath"
	"testing"

	"ledgerline/stages"
)

// From any frame on a file reads as it does from its start, in every form, back and forth, at the end, and
// after its hash was taken.
func TestSeekFrame(t *testing.T) {
	const frames = 9001
	for name, container := range map[string]Container{"x.wav": WAV, "x.flac": FLAC} {
		path := filepath.Join(t.TempDir(), name)
		b := whisper(2, frames, 24)
		writeWith(t, path, Info{Rate: 44100, Channels: 2, Frames: frames, Encoding: PCM24},
			Beside{Container: container}, b, 1000, longFrom)
		r := openFile(t, path)
		if r.Coded() != (container == FLAC) {
			t.Errorf("%s: coded %v", name, r.Coded())
		}
		if _, err := r.SHA256(); err != nil {
			t.Fatal(err)
		}
		for _, at := range []int64{5000, 0, 4095, 4096, 4097, 9000, 1, 9001, 8999} {
			if err := r.SeekFrame(at); err != nil {
				t.Fatal(err)
			}
			part := stages.NewBlock(2, 3000)
			n, err := r.Read(part)
			if at == frames {
				if n != 0 || err != io.EOF {
					t.Errorf("%s: at the end %d, %v", name, n, err)
				}
				continue
			}
			if want := int(min(3000, frames-at)); n != want || err != nil {
				t.Fatalf("%s: from %d on %d frames, %v", name, at, n, err)
			}
			for c := range part {
				for i := range n {
					if part[c][i] != b[c][int(at)+i] {
						t.Fatalf("%s: from %d on, channel %d, frame %d: %v, want %v", name, at, c, i, part[c][i],
							b[c][int(at)+i])
					}
				}
			}
		}
		for _, at := range []int64{-1, frames + 1} {
			if r.SeekFrame(at) == nil {
				t.Errorf("%s: frame %d is there", name, at)
			}
		}
	}
}
