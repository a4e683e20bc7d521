package ear

import (
	"math"

	"ledgerline/stages/portable"
)

// Exponent with which components add [17], and the slope down, in 10 dB a band [15].
const (
	adding = 0.4
	down   = -2.7 * barks
)

// slopes are what spreading over the bands needs. The form is that of Kabal, 2.8.
type slopes struct {
	up        []float64 // natural logarithm of the slope up a band, of a power of 1
	below     []float64 // what a band of power 1 puts into itself and all below
	fall      float64   // slope down a band, to the power of adding
	reference []float64 // what power 1 in every band comes to; divided by
}

func newSlopes(bands []Band) slopes {
	n := len(bands)
	s := slopes{fall: portable.Exp10(adding * down), reference: make([]float64, n)}
	fall := portable.Exp10(down)
	left := 1.0
	for _, b := range bands {
		left *= fall
		s.below = append(s.below, (1-left)/(1-fall))
		s.up = append(s.up, barks*math.Ln10*(-2.4-23/b.Centre))
		s.reference[len(s.up)-1] = 1
	}
	ones, w := make([]float64, n), newSpreading(n)
	for k := range ones {
		ones[k] = 1
	}
	reference := make([]float64, n)
	s.spread(reference, ones, w)
	s.reference = reference
	return s
}

// A spreading is memory to spread in.
type spreading struct{ reach, slope []float64 }

func newSpreading(bands int) *spreading {
	return &spreading{make([]float64, bands), make([]float64, bands)}
}

// spread sets e to the powers p spread over the bands. [15 to 20]
func (s *slopes) spread(e, p []float64, w *spreading) {
	n := len(s.up)
	e, p = e[:n], p[:n]
	reach, slope := w.reach[:n], w.slope[:n]
	for i := range p {
		lnP := portable.Log(p[i])
		lnUp := s.up[i] + float64(0.2*barks*lnP)
		slope[i] = portable.Exp(adding * lnUp)
		up := slope[i] * slope[i] * math.Sqrt(slope[i])
		above := float64(n - i) // where the slope is level
		if up != 1 {
			above = (1 - portable.Exp(lnUp*float64(n-i))) / (1 - up)
		}
		reach[i] = portable.Exp(adding * (lnP - portable.Log(s.below[i]+above-1)))
	}
	sum := 0.0
	for i := n - 1; i >= 0; i-- {
		sum = float64(s.fall*sum) + reach[i]
		e[i] = sum
	}
	// Every band at once reaches one band further up at a time.
	for d := 1; d < n; d++ {
		to, r, a := e[d:], reach[:n-d], slope[:n-d]
		for i := range to {
			x := float64(r[i] * a[i])
			r[i] = x
			to[i] += x
		}
	}
	for i, x := range e {
		e[i] = x * x * math.Sqrt(x) / s.reference[i]
	}
}
