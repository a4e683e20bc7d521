package bandlimit

import "ledgerline/stages/kernel"

// side is how many frames to one side of a value at the high rate it reaches on
// its way back to the track's rate.
const side = 112

// A Decimator brings single values at factor times the track's rate back to it.
// Its filter is a sinc under a Kaiser window, sampled at the high rate: it passes
// 20/44.1 of the track's rate and has fallen by 133 dB at 21.8/44.1, before half the
// rate, so that nothing folds back at all. (A filter that folds only beyond the pass band would do for
// what is heard here, but a hold behind it takes peaks as they come, and would
// carry the fold into the pass band.)
type Decimator struct {
	factor int
	taps   []float64 // of each phase, 2*side of them
}

// NewDecimator makes one with a gain of 1 at DC for a signal of which all
// factor phases are given.
func NewDecimator(factor int) *Decimator {
	d := &Decimator{factor, make([]float64, factor*2*side)}
	beta := kaiserBeta(132)
	const band = (20 + 21.7) / 44.1 // both edges of the transition, twice its middle
	sum := 0.0
	for i := range d.taps {
		t := float64(i%(2*side)-side+1) - float64(i/(2*side))/float64(factor)
		d.taps[i] = sinc(t*band) * kaiser(t/side, beta)
		sum += d.taps[i]
	}
	for i := range d.taps {
		d.taps[i] /= sum
	}
	return d
}

// Before and Behind are how many frames around its own a value reaches.
const (
	Before = side - 1
	Behind = side
)

// Add adds to y the values v of a frame, one a phase. y[0] is Before frames before
// that frame, and y has Before+1+Behind frames.
func (d *Decimator) Add(y, v []float64) {
	y = y[:2*side]
	if d.factor == 2 {
		kernel.AddScaled(y, d.taps[:2*side], v[0])
		kernel.AddScaled(y, d.taps[2*side:], v[1])
		return
	}
	for p := 0; p < d.factor; p += 4 {
		if w := (*[4]float64)(v[p:]); *w != [4]float64{} {
			kernel.AddScaledRows(y, d.taps[p*2*side:], 2*side, w)
		}
	}
}
