package survey

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/release"
)

// A hold amid a chain whose promise takes repeats, since a dither after it is coarse: a survey lowers its aim
// as a render does, though of what is between the chain's ends it reads as little as it can.
func TestAimAmidAChainIsThatOfARender(t *testing.T) {
	folder := t.TempDir()
	info := audiofile.Info{Rate: 44100, Channels: 1, Frames: 20000, Encoding: audiofile.PCM24}
	wave := func(_ int, n int64) float64 { return 0.05 * math.Sin(float64(n)*0.05) }
	if err := mixtest.Write(filepath.Join(folder, "mixes", "reef.wav"), info, wave); err != nil {
		t.Fatal(err)
	}
	text := `sources = ["mixes/*.wav"]
ceiling_dbfs = -1.0
[[stage]]
kind = "gain"
name = "drive"
gain_db = 0.0
[[stage]]
kind = "ceiling_hold"
name = "hold"
ceiling_dbfs = -36.0
[[stage]]
kind = "dither"
bits = 8
[[stage]]
kind = "gain"
name = "up"
gain_db = 20.0
`
	path := filepath.Join(folder, "release.toml")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	r, err := release.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	s, errs, err := Run(context.Background(), r, Options{
		Set: "drive.gain_db", From: new(0.0), To: new(0.0), Step: new(1.0),
	})
	if err != nil || len(errs) > 0 {
		t.Fatal(err, errs)
	}
	out, err := pipeline.RenderRelease(context.Background(), r, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	row, entry := s.Tracks[0].Rows[0], out.Ledger.Tracks[0]
	if entry.Whole == nil || entry.Whole.AimLoweredDB == 0 {
		t.Fatal("the render lowers no aim")
	}
	if !reflect.DeepEqual(row.Whole, entry.Whole) {
		t.Errorf("%+v, want %+v", row.Whole, entry.Whole)
	}
}
