package stages_test

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"

	"gonum.org/v1/gonum/dsp/fourier"
)

func maskedClipAt(ceilingDBFS float64) stagetest.Maker {
	return func(f stages.Format) stages.Stage {
		s, err := stages.Build("masked_clip", f, stages.Settings{"ceiling_dbfs": ceilingDBFS, "temper": 0.6, "guard_hz": 100.0})
		if err != nil {
			panic(err)
		}
		return s
	}
}

func TestMaskedClipIsAStage(t *testing.T) {
	for _, rate := range []int{44100, 96000} {
		scale := (rate + 44099) / 44100
		stagetest.Suite(t, maskedClipAt(-6), stagetest.Options{
			Rate: rate, HoldBack: scale * 8192, Ceiling: stages.Linear(-6), Reach: scale * 192, Books: true, Remembers: true,
		})
	}
}

// What aliases in a sine 6 dB over, see aliasOf.
func TestMaskedClipAliasing(t *testing.T) {
	for i, want := range [3]float64{110, 103, 100} {
		t.Run(fmt.Sprint(aliasTones[i], " Hz"), func(t *testing.T) {
			t.Parallel()
			got := aliasOf(aliasTones[i], aliasPhases, maskedClipAt(stages.DB(aliasClip)))
			t.Log(got, math.NaN())
			if got.snr < want {
				t.Errorf("SNR %.1f dB, want %v", got.snr, want)
			}
			_ = fourier.NewFFT
		})
	}
}
