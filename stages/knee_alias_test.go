package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

func kneeClipAt(db, knee float64, factor int64) stagetest.Maker {
	return mustBuild("oversampled_clip", stages.Settings{"ceiling_dbfs": db, "factor": factor, "knee_db": knee})
}

// A knee aliases no more than a corner. Of factors from 4 on 115, 105 and 95 dB are asked for at every knee;
// what is kept is what was measured when it was made, less 2 dB.
func TestKneeAliasing(t *testing.T) {
	cases := []struct {
		factor int64
		knee   float64
		kept   [3]float64 // SNR, dB
	}{
		{4, 0.5, [3]float64{204, 154, 125}},
		{8, 6, [3]float64{221, 173, 176}},
		{2, 1, [3]float64{177, 114, 79}},
		{4, 0.001, [3]float64{202, 153, 124}},
		{4, 6, [3]float64{221, 171, 139}},
		{4, 12, [3]float64{222, 173, 146}},
		{8, 0.001, [3]float64{202, 171, 161}},
		{8, 1, [3]float64{207, 171, 168}},
		{16, 1, [3]float64{207, 171, 177}},
	}
	for _, c := range long.Or(cases[:1], cases) {
		t.Run(fmt.Sprint("factor ", c.factor, ", knee ", c.knee), func(t *testing.T) {
			t.Parallel()
			asked := [3]float64{115, 105, 95}
			if c.factor < 4 {
				asked = [3]float64{}
			}
			for i, hz := range aliasTones {
				if i != 2 && !long.Wanted() {
					continue
				}
				got := aliasOf(hz, aliasPhases[:long.Or(1, 2)], kneeClipAt(stages.DB(aliasClip), c.knee, c.factor)).snr
				if got < max(asked[i], c.kept[i]) {
					t.Errorf("%v Hz: SNR %.1f dB, asked for %v, kept %v", hz, got, asked[i], c.kept[i])
				}
			}
		})
	}
}
