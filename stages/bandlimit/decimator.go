package bandlimit

import "ledgerline/stages/kernel"

// side is how many frames to one side of a value at the high rate it reaches on
// its way back to the track's rate.
const side = 112

// A Decimator brings single values at factor times the track's rate back to it.
// Its filter is a sinc under a Kaiser window, sampled at the high rate: it passes
// 20/44.1 of the track's rate and has fallen by half the rate, so that nothing
// folds back at all. (A filter that folds only beyond the pass band would do for
// what is heard here, but a hold behind it takes peaks as they come, and would
// carry the fold into the pass band.)
type Decimator [][]float64 // [phase][tap]

// NewDecimator makes one with a gain of 1 at DC for a signal of which all
// factor phases are given.
func NewDecimator(factor int) Decimator {
	d := make(Decimator, factor)
	beta := kaiserBeta(132)
	const band = (20 + 21.7) / 44.1 // both edges of the transition, twice its middle
	sum := 0.0
	for p := range d {
		d[p] = make([]float64, 2*side)
		for j := range d[p] {
			t := float64(j-side+1) - float64(p)/float64(factor)
			d[p][j] = sinc(t*band) * kaiser(t/side, beta)
			sum += d[p][j]
		}
	}
	for p := range d {
		for j := range d[p] {
			d[p][j] /= sum
		}
	}
	return d
}

// Before and Behind are how many frames around its own a value reaches.
const (
	Before = side - 1
	Behind = side
)

// Add adds to y the value v of the given phase. y[0] is Before frames before
// the value's own frame, and y has Before+1+Behind frames.
func (d Decimator) Add(y []float64, phase int, v float64) { kernel.AddScaled(y, d[phase], v) }
