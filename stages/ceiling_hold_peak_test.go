package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

// A peak with a shoulder, on which the curve turns twice between two values, is a peak
// as any other: nothing is left for the clamp.
func TestCeilingHoldLeavesNothingForTheClamp(t *testing.T) {
	for _, hz := range []float64{8000, 19000, 20000} {
		t.Run(fmt.Sprint("noise to ", hz, " Hz"), func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(10) {
				s := ceilingHoldAt(-1, "true", "band_limited")(stages.Format{Rate: 44100, Channels: 1})
				stagetest.Render(s, stages.Block{driven(noiseBursts(hz, seed), 11)})
				if n := s.Effect().Clamped; n > 0 {
					t.Errorf("seed %d: %d samples clamped", seed, n)
				}
			}
		})
	}
}
