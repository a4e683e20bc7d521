package bandlimit

import (
	"math"
	"sync"

	"ledgerline/stages/kernel"
)

// What is near half the rate takes few values: turned to 0, it ends at 0.75/44.1 of the rate. So it is found
// at an eighth of the rate: a short filter leaves nothing there that an eighth would mistake for it, a long
// one, of an eighth of the values, takes what is looked for, and a short one brings it back. All three tell
// what they pass from what they stop by 120 dB.
const (
	nearStep  = 8
	nearFirst = 88  // taps of the first filter, which stops 17.3/44.1 of the rate and passes 21.3/44.1
	nearMain  = 112 // of the second, which passes 21.7/44.1 of the rate and stops 21.3/44.1
	nearBack  = 16  // of the last, for each frame
	nearSide  = nearBack/2 - 1
)

// NearBefore and NearAfter are how many frames around those from which it takes anything TakeNear needs.
const (
	NearBefore = nearStep*(nearSide+nearMain/2) + nearFirst/2
	NearAfter  = nearStep*(nearMain/2+nearBack+kernel.Group) + nearFirst/2
)

// lowPassTaps are those of a low-pass filter, which ends at a part of the rate, stops what is beyond by so
// many dB and has n taps around 0, of which the first is 0.
func lowPassTaps(n int, to, dB float64) []float64 {
	taps := make([]float64, n)
	for i := 1; i < n; i++ {
		t := float64(i - n/2)
		taps[i] = 2 * to * sinc(2*to*t) * kaiser(t/float64(n/2), kaiserBeta(dB))
	}
	return taps
}

var (
	nearFirstTaps = sync.OnceValue(func() []float64 {
		return alternate(lowPassTaps(nearFirst, 0.5-19.3/44.1, 120))
	})
	nearMainHalf = sync.OnceValue(func() *kernel.Filter {
		return kernel.NewFilter(lowPassTaps(nearMain, nearStep*(0.5-21.5/44.1), 120))
	})
	// nearBackTaps take what they make away: rows of a value each, for the frames from that at value
	// nearSide on.
	nearBackTaps = sync.OnceValue(func() []float64 {
		rows := make([]float64, nearBack*nearStep)
		taps := lowPassTaps(nearBack*nearStep, 0.5-19.3/44.1, 120)
		for k := range nearBack {
			for i := range nearStep {
				if at := i - nearStep*(k-nearSide) + nearBack*nearStep/2; at < len(taps) {
					rows[nearStep*k+i] = -nearStep * taps[at] * float64(1-2*(i%2))
				}
			}
		}
		return rows
	})
)

// alternate turns a filter of 0 to one of half the rate.
func alternate(taps []float64) []float64 {
	for i := 1; i < len(taps); i += 2 {
		taps[i] = -taps[i]
	}
	return taps
}

// TakeNear takes what lies above 21.5/44.1 of the rate in x off y, times a gain that changes slowly. y[i] is
// at x[NearBefore+i], and x has NearAfter frames after those. The number of frames is a multiple of 256. It
// returns about the largest magnitude of what is left of it where the gain is not 0.
func (w *WholeBand) TakeNear(y, x []float64, gain func(i int) float64) (left float64) {
	n := len(y) / nearStep
	values := (n + nearBack + kernel.Group - 1) / kernel.Group * kernel.Group
	first, main := w.re[:values+nearMain], w.im[:values]
	kernel.Rows(first, 1, x, nearStep, nearFirstTaps(), len(first))
	nearMainHalf().Apply(main, first)
	for i := range main {
		g := gain(nearStep * (i - nearSide))
		by := float64(main[i] * g)
		if g > 0 {
			left = max(left, math.Abs(main[i]-by))
		}
		main[i] = by
	}
	back := nearBackTaps()
	for k := range n {
		kernel.AddScaled16(y[nearStep*k:][:nearStep], back, (*[nearBack]float64)(main[k:]))
	}
	return left
}

// highMain is how many taps of the second filter tell what High passes from what it stops by 60 dB.
const highMain = 56

var (
	highFirstTaps = sync.OnceValue(func() []float64 {
		return alternate(lowPassTaps(nearFirst, 0.5-19.3/44.1, 60))
	})
	highMainHalf = sync.OnceValue(func() *kernel.Filter {
		return kernel.NewFilter(lowPassTaps(highMain, nearStep*(0.5-20.3/44.1), 60))
	})
)

// MostHigh bounds what High leaves of n frames of a stretch, from one on, as programme has it: it is no more
// than twice as high as at every eighth frame, which has three values for each two that it could do with,
// and may lack HighRest times the largest magnitude around. n is a multiple of 256.
func (w *WholeBand) MostHigh(x []float64, from, n int) float64 {
	const side = nearStep*highMain/2 + nearFirst/2
	values := n / nearStep
	first, main := w.re[:values+highMain], w.im[:values]
	kernel.Rows(first, 1, x[from-side:], nearStep, highFirstTaps(), len(first))
	highMainHalf().Apply(main, first)
	return 2 * kernel.MaxAbs(main)
}
