package stages

import "math"

// A Use is one stage of a chain as a release uses it: the same in a release's
// chain, in the ledger and in what decides whether a render is up to date.
type Use struct {
	Name     string   `json:"name"`     // unique in its chain
	Kind     string   `json:"kind"`     // gain, hard_clip, ...
	Settings Settings `json:"settings"` // checked, and filled with the kind's defaults
}

// Of is the kind that the stage is of; the zero Kind where there is none of that name.
func (u Use) Of() Kind {
	k, _ := KindNamed(u.Kind)
	return k
}

// Factor is what the stage multiplies by, if that is all it does.
func (u Use) Factor() (Factor, bool) {
	if f := u.Of().Multiplies; f != nil {
		return f(u.Settings), true
	}
	return Factor{By: 1}, false
}

// Rounding is how the stage rounds to words, if it does.
func (u Use) Rounding() (Rounding, bool) {
	if f := u.Of().Rounds; f != nil {
		return f(u.Settings), true
	}
	return Rounding{}, false
}

// Promise is of which peaks the stage promises that they keep its ceiling.
func (u Use) Promise() Promise {
	if f := u.Of().Promises; f != nil {
		return f(u.Settings)
	}
	return NoPromise
}

// RaisesPeaks says whether the stage may raise peaks on purpose: all may but those that only read or
// round, and gains of 0 dB or less.
func (u Use) RaisesPeaks() bool {
	kind := u.Of()
	factor, multiplies := u.Factor()
	return !kind.Reads && kind.Rounds == nil && (!multiplies || factor.DB > 0)
}

// keepsWords says whether words that a dither has made are still such words after the stage.
func (u Use) keepsWords() bool {
	kind := u.Of()
	factor, multiplies := u.Factor()
	return kind.Reads || kind.Rounds != nil || multiplies && math.Abs(factor.By) == 1
}
