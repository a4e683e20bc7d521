package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

func linkedClipAt(db, knee float64, factor int64) stagetest.Maker {
	return mustBuild("oversampled_clip", stages.Settings{
		"ceiling_dbfs": db, "factor": factor, "knee_db": knee, "link": true,
	})
}

// Two tones of one frequency, which take turns in leading, have no other products than harmonics. The
// products with what is taken off have more jumps in high derivatives than a clip alone has, so that tones in
// the last octave ask for a factor of 8. What is kept is what was measured when it was made, less 2 dB.
func TestLinkedClipAliasing(t *testing.T) {
	long.Only(t, "TestKneeAliasing and TestOversampledClipAliasing have the same clip without a link")
	cases := []struct {
		factor int64
		knee   float64
		kept   [3]float64 // SNR of the worse channel, dB
	}{
		{8, 0.5, [3]float64{205, 145, 107}},
		{4, 0, [3]float64{197, 121, 84}},
		{4, 6, [3]float64{188, 112, 76}},
		{8, 0, [3]float64{204, 161, 126}},
		{8, 12, [3]float64{208, 166, 132}},
		{16, 3, [3]float64{210, 167, 151}},
	}
	for _, c := range long.Or(cases[:1], cases) {
		t.Run(fmt.Sprint("factor ", c.factor, ", knee ", c.knee), func(t *testing.T) {
			t.Parallel()
			const frames = aliasFrames + 2*aliasLead
			for i, hz := range aliasTones {
				if i != 1 && !long.Wanted() {
					continue
				}
				out := linked(linkedClipAt(stages.DB(aliasClip), c.knee, c.factor),
					sine(hz, 0.1, 1, frames), sine(hz, 0.8, 0.9, frames))
				for ch, y := range out {
					y = y[aliasLead : aliasLead+aliasFrames]
					got := aliasSNR(fourier.NewFFT(len(y)).Coefficients(nil, y), hz)
					if got < c.kept[i] {
						t.Errorf("channel %d, %v Hz: SNR %.1f dB, kept %v", ch, hz, got, c.kept[i])
					}
				}
			}
		})
	}
}
