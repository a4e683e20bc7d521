package survey

import (
	"math"
	"reflect"
	"testing"

	"ledgerline/pipeline/audiofile"
)

// A hold amid a chain whose promise takes repeats, since a dither after it is coarse: a survey lowers its aim
// as a render does, though of what is between the chain's ends it reads as little as it can.
func TestAimAmidAChainIsThatOfARender(t *testing.T) {
	info := audiofile.Info{Rate: 44100, Channels: 1, Frames: 20000, Encoding: audiofile.PCM24}
	wave := func(_ int, n int64) float64 { return 0.05 * math.Sin(float64(n)*0.05) }
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
	row, entry := surveyedAndRendered(t, info, wave, text, 0.0)
	if entry.Whole == nil || entry.Whole.AimLoweredDB == 0 {
		t.Fatal("the render lowers no aim")
	}
	if !reflect.DeepEqual(row.Whole, entry.Whole) {
		t.Errorf("%+v, want %+v", row.Whole, entry.Whole)
	}
}
