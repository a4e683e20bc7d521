package stages_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

// overs is a mix driven so far that a share of its samples passes full scale.
func overs(b *testing.B, share float64) []float64 {
	x := mix(b, "02 breakwater", 0)
	var magnitudes []float64
	for _, v := range x {
		magnitudes = append(magnitudes, math.Abs(v))
	}
	slices.Sort(magnitudes)
	gain := 1 / magnitudes[int(float64(len(x)-1)*(1-share))]
	for n := range x {
		x[n] *= gain
	}
	return x
}

// Programme with 3 % of its samples over is what the cost is asked for; an idle
// stretch is what most of a record is.
func BenchmarkOversampledClip(b *testing.B) {
	for _, factor := range factors {
		for _, share := range []float64{0, 0.03} {
			b.Run(fmt.Sprintf("factor %d, %v%% over", factor, 100*share), func(b *testing.B) {
				in := overs(b, share)
				if share == 0 {
					in = driven(in, -12)
				}
				stagetest.Bench(b, oversampledClipAt(0, factor), stages.Block{in})
			})
		}
	}
}

func BenchmarkCeilingHold(b *testing.B) {
	for _, peak := range []string{"true", "sample"} {
		hold := ceilingHoldAt(0, peak, "band_limited")
		b.Run(peak+", idle", func(b *testing.B) {
			stagetest.Bench(b, hold, stages.Block{driven(overs(b, 0), -12)})
		})
		b.Run(peak+", 3% over", func(b *testing.B) {
			stagetest.Bench(b, hold, stages.Block{overs(b, 0.03)})
		})
		for _, factor := range factors {
			b.Run(fmt.Sprintf("%s, 3%% over after a clip of factor %d", peak, factor), func(b *testing.B) {
				stagetest.Bench(b, hold, stages.Block{oneChannel(oversampledClipAt(0, factor), overs(b, 0.03)...)})
			})
		}
	}
}
