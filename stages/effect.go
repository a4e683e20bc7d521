package stages

import (
	"math"

	"ledgerline/stages/kernel"
)

// Effect is what a stage took from the samples it handed on. The zero Effect is nothing.
type Effect struct {
	Touched int64   // samples that left with another value than they came in with
	Cut     float64 // the deepest: the largest |in|/|out| of a sample that came in beyond the ceiling; 0 = none
	Removed float64 // sum of (in-out)^2 over all samples
	// Unlinked is what Removed would be if the channels were not linked; 0: they are not, or nothing is over.
	Unlinked float64
	// ceiling_hold: samples that only the last clamp brought within the ceiling; dither: that lost more than
	// DitherReach codes
	Clamped int64
}

// book adds one changed sample to the effect. A sample that is infinite, or so large
// that its square is, is counted, but has no level that could be added up.
func (e *Effect) book(in, out, ceiling float64) {
	e.Touched++
	if math.Abs(in) > 1e150 {
		return
	}
	d := in - out
	e.Removed += float64(d * d) // not fused with the sum, on any processor
	if in = math.Abs(in); in > ceiling {
		e.Cut = max(e.Cut, in/math.Abs(out))
	}
}

// bookAll adds samples that came in and what went out for them. Those that are
// not numbers are passed over. Their squares are summed by themselves, so the
// slices are to be cut where a count from the track's first frame says, and not
// where a block happens to end.
func (e *Effect) bookAll(in, out []float64, ceiling float64) {
	touched, cut, removed := kernel.Taken(in, out, ceiling)
	e.Touched += int64(touched)
	if cut > 1 {
		e.Cut = max(e.Cut, cut)
	}
	e.Removed += removed
}

// effects are the effects on each channel, or on each track of one. They are kept apart until they are
// asked for, because a sum over blocks of several channels would depend on the
// block length in its last digits.
type effects []Effect

func newEffects(channels int) effects {
	return make(effects, channels)
}

// total is the effect on all channels together.
func (e effects) total() (sum Effect) {
	for _, c := range e {
		sum.Add(c)
	}
	return sum
}

// Add adds the effect on other samples of the same stage.
func (e *Effect) Add(o Effect) {
	e.Touched += o.Touched
	e.Cut = max(e.Cut, o.Cut)
	e.Removed += o.Removed
	e.Unlinked += o.Unlinked
	e.Clamped += o.Clamped
}
