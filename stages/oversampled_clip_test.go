package stages_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

func oversampledClipAt(db float64, factor int64) stagetest.Maker {
	return mustBuild("oversampled_clip", stages.Settings{"ceiling_dbfs": db, "factor": factor})
}

var factors = []int64{2, 4, 8, 16}

const (
	// A clip works on a tile of 32 frames when it has eight more, and hands on the fifth before it.
	clipHoldBack = (1+8+5)*32 - 1
	// The way up to an excess reaches 105 frames, the residual of a corner 8
	// samples, and the way back 112 frames.
	clipReach = 105 + 8 + 112
)

func TestOversampledClipSuite(t *testing.T) {
	for _, factor := range factors {
		t.Run(fmt.Sprint("factor ", factor), func(t *testing.T) {
			stagetest.Suite(t, oversampledClipAt(-6, factor), stagetest.Options{
				HoldBack: clipHoldBack, Reach: clipReach, Ceiling: stages.Linear(-6), Books: true,
			})
		})
	}
}

// A hair's breadth of the ceiling must make next to nothing of the outcome, also
// where samples lie at the ceiling to the bit, as they do in a mix that was clipped
// at the track's rate before. There a corner moves from one interval to the next,
// whose local polynomial is another, and the less alike the closer the factor
// brings these signals, which fill all of their band, to half its rate.
func TestOversampledClipDependsSmoothlyOnItsCeiling(t *testing.T) {
	const hair = 1e-12
	limits := map[int64]float64{2: 2e-3, 4: 2e-5, 8: 2e-7, 16: 5e-9}
	for _, factor := range factors {
		for name, in := range map[string][]float64{
			"a sine":               sine(1404, 0.3, 1, 10000),
			"a sine clipped there": clipped(sine(1404, 0.3, 1, 10000), 0.5),
			"noise":                smoothNoise(10000),
			"noise clipped there":  clipped(smoothNoise(10000), 0.5),
			"steps to the ceiling": steps(0.5, 10000),
		} {
			a := oneChannel(oversampledClipAt(stages.DB(0.5), factor), in...)
			b := oneChannel(oversampledClipAt(stages.DB(0.5*(1-hair)), factor), in...)
			for i := range a {
				if d := math.Abs(a[i] - b[i]); !(d < limits[factor]) {
					t.Errorf("factor %d, %s: frame %d is off by %v", factor, name, i, d)
					break
				}
			}
		}
	}
}

// sine is a tone of hz at 44.1 kHz.
func sine(hz, phase, amplitude float64, frames int) []float64 {
	x := make([]float64, frames)
	for n := range x {
		x[n] = amplitude * math.Sin(2*math.Pi*math.Mod(hz*float64(n)/44100, 1)+phase)
	}
	return x
}

// smoothNoise is noise that falls from 2 kHz on and passes 0.5 often.
func smoothNoise(frames int) []float64 {
	random := rand.New(rand.NewPCG(3, 1))
	x := make([]float64, frames)
	a, b := 0.0, 0.0
	for n := range x {
		a += 0.3 * (random.NormFloat64() - a)
		b += 0.3 * (a - b)
		x[n] = 2.5 * b
	}
	return x
}

// steps stay at 0 or at either level for some frames.
func steps(level float64, frames int) []float64 {
	random := rand.New(rand.NewPCG(3, 2))
	x := make([]float64, frames)
	for n, at := 0, 0; n < frames; n++ {
		if at--; at < 0 {
			at = random.IntN(9)
			level = -level
		}
		x[n] = level * float64(at%2)
	}
	return x
}

// clipped is x with the samples beyond a ceiling as the ceiling.
func clipped(x []float64, ceiling float64) []float64 {
	for n := range x {
		x[n] = max(-ceiling, min(ceiling, x[n]))
	}
	return x
}
