package bandlimit

import "ledgerline/stages/kernel"

// side is how many frames to one side of a value at the high rate it reaches on
// its way back to the track's rate.
const side = 112

// A Decimator brings single values at factor times the track's rate back to it.
// Its filter is a sinc under a Kaiser window, sampled at the high rate: it passes
// 20/44.1 of the track's rate and has fallen by 133 dB at 21.8/44.1, before half the
// rate, so that nothing folds back at all. (A filter that folds only beyond the pass band would do for
// what is heard here, but a hold after it takes peaks as they come, and would
// carry the fold into the pass band.)
type Decimator struct {
	factor int
	width  int       // frames that a group of values reaches, rounded up for the kernel
	rows   []float64 // for AddScaled16: a row is what a value of the group adds to width frames
}

// NewDecimator makes one with a gain of 1 at DC for a signal of which all
// factor phases are given.
func NewDecimator(factor int) *Decimator {
	const reach = 2 * side
	taps := make([]float64, factor*reach) // of each phase
	beta := kaiserBeta(132)
	const band = (20 + 21.7) / 44.1 // both edges of the transition, twice its middle
	sum := 0.0
	for i := range taps {
		t := float64(i%reach-side+1) - float64(i/reach)/float64(factor)
		taps[i] = float64(sinc(t*band) * kaiser(t/side, beta))
		sum += taps[i]
	}
	width := (reach + Group/factor - 1 + 7) / 8 * 8
	d := &Decimator{factor, width, make([]float64, Group*width)}
	for k := range Group {
		frame, phase := k/factor, k%factor
		for i, h := range taps[phase*reach : (phase+1)*reach] {
			at := frame + i
			d.rows[at/8*8*Group+8*k+at%8] = h / sum
		}
	}
	return d
}

const (
	// Before and After are how many frames around its own a value reaches.
	Before = side - 1
	After  = side
	// Around is how many frames the values of a group reach, and a few more.
	Around = Before + 1 + After + 8
	// Group is how many values at the high rate are brought back at once.
	Group = 16
)

// Add adds to y the values v, a Group or a few frames of it, factor values a frame. y[0] is Before
// frames before the first of them, and y has Around frames, or 8 less for the values of one.
func (d *Decimator) Add(y, v []float64) {
	var w [Group]float64
	copy(w[:], v)
	kernel.AddScaled16(y[:min(len(y), d.width)], d.rows, &w)
}
