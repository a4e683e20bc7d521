package inspect

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// A FLAC file that ends early is known only once it is read; it is named once.
func TestACutFileIsNamedOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.flac")
	info := audiofile.Info{Rate: 44100, Channels: 1, Frames: 20000, Encoding: audiofile.PCM16}
	w, err := audiofile.CreateWith(path, info, audiofile.Beside{Container: audiofile.FLAC})
	if err != nil {
		t.Fatal(err)
	}
	b := stages.NewBlock(1, int(info.Frames))
	for i := range b[0] {
		b[0][i] = 0.5 * math.Sin(float64(i)*float64(i)/1000)
	}
	if err := w.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, whole[:len(whole)*2/3], 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := File(t.Context(), path); err == nil || strings.Count(err.Error(), path) != 1 {
		t.Errorf("%v, want the file's name once", err)
	}
}
