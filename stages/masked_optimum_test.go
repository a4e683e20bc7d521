package stages_test

import (
	"math"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/judge"
	"ledgerline/stages/stagetest/long"
)

// optimum is what is removed of a short signal so that none of its values at four times the rate passes an
// aim, and so that sum over k of |R_k|^2 / A_k is the least, where A is the spectrum of a pulse, of which one
// side is given: exactly, but for what many sweeps leave. The dual of that problem is one of non-negative
// least squares: what is removed is a sum of pulses at the values that end at the aim, each with the sign of
// its value (Defraene et al., IEEE Trans. ASLP 20(10), 2012, for samples). It is solved one pulse after the
// other, each made as high as the others leave it to be, or lower again.
func optimum(w *wholeMasked, pulse []float64) []float64 {
	step := w.per / optimumGrid
	y := make([]float64, len(w.y)/step)
	for i := range y {
		y[i] = w.y[i*step]
	}
	height := make([]float64, len(y))
	for range 600 {
		most := 0.0
		for i := range y {
			alone := y[i] + height[i] // had it no pulse
			to := alone - math.Min(math.Max(alone, -w.aim), w.aim)
			by := to - height[i]
			if by == 0 {
				continue
			}
			most = math.Max(most, math.Abs(by))
			height[i] = to
			for k := max(0, i-len(pulse)+1); k < min(len(y), i+len(pulse)); k++ {
				y[k] -= by * pulse[max(k-i, i-k)]
			}
		}
		if most < 1e-5*w.aim {
			break
		}
	}
	removed := make([]float64, len(w.y)/w.per)
	for n := range removed {
		removed[n] = w.y[n*w.per] - y[n*optimumGrid]
	}
	return removed
}

const optimumGrid = 4 // values a frame

// On short excerpts the exact solution, with the mask of the middle, the same temper and the same guard, is
// at most half a dB better by noise to mask.
func TestMaskedClipIsNearTheOptimum(t *testing.T) {
	long.Only(t, "solves for the optimum of each excerpt")
	const frames = 6144
	for _, name := range []string{"01 quay", "02 breakwater", "03 lantern"}[:long.Or(1, 3)] {
		for n := range long.Or(1, 5) {
			x := mix(t, name, 0)[9000*(n+1):][:frames]
			for i := range x { // the overs are in the middle
				x[i] *= gate(i, 2400, frames-2400)
			}
			driven(x, 5)
			w := newWholeMasked(x, 1, 0.6, 100)
			var pulse []float64
			for i := range 256 * optimumGrid {
				// the spectrum of a bell has no negative values, so that there is an optimum
				at := float64(i) / optimumGrid / 80
				pulse = append(pulse, w.pulses[frames/2/512][i*wholeFine/optimumGrid]*math.Exp(-at*at/2))
			}
			best, removed := slices.Clone(x), optimum(w, pulse)
			for i, v := range removed {
				best[i] -= v
			}
			p := judge.Programme{Rate: 44100}
			exact, _ := p.Ear(stages.Block{x}, stages.Block{best})
			passes, _ := p.Ear(stages.Block{x}, stages.Block{oneChannel(maskedClipAt(0), x...)})
			t.Logf("%s, %d: passes %.2f dB, exact %.2f dB, peaks %.3f dB", name, n, passes, exact,
				stages.DB(truePeak(best)))
			if !(passes < exact+0.5) {
				t.Errorf("%s, %d: noise to mask %.2f dB, of the exact solution %.2f dB", name, n, passes, exact)
			}
		}
	}
}
