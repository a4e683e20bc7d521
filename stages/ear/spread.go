package ear

import (
	"math"

	"ledgerline/stages/kernel/spectra"
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
	reference []float64 // 1 over what power 1 in every band comes to [19]
}

func newSlopes(bands []Band) slopes {
	n := len(bands)
	s := slopes{fall: portable.Exp10(adding * down), reference: make([]float64, n)}
	fall := portable.Exp10(down)
	left := 1.0
	for _, b := range bands {
		left = float64(left * fall)
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
	for i, v := range reference {
		reference[i] = 1 / v
	}
	s.reference = reference
	return s
}

// A spreading is memory to spread in. Its slices have as many values as make whole fours of the bands; those
// beyond the bands stay without reach.
type spreading struct{ lnPower, lnSlope, reach, slope, last, e []float64 }

func newSpreading(bands int) *spreading {
	fours := func() []float64 { return make([]float64, (bands+3)&^3) }
	return &spreading{fours(), fours(), fours(), fours(), fours(), fours()}
}

// spread sets e to the powers p, all above 0, spread over the bands. [15 to 20]
func (s *slopes) spread(e, p []float64, w *spreading) {
	n := len(s.up)
	s.reaches(p[:n], w)
	sum := 0.0
	for i := n - 1; i >= 0; i-- {
		sum = float64(s.fall*sum) + w.reach[i]
		w.e[i] = sum
	}
	w.rise()
	spectra.Raise(e[:n], w.e[:n])
	for i, by := range s.reference {
		e[i] *= by
	}
}

// reaches finds how much each band puts into itself, and how much of that is left one band up, both to the
// power of adding.
func (s *slopes) reaches(p []float64, w *spreading) {
	n := len(p)
	lnPower, lnSlope, reach, slope, last := w.lnPower[:n], w.lnSlope[:n], w.reach[:n], w.slope[:n], w.last[:n]
	spectra.Log(lnPower, p)
	for i, ln := range lnPower {
		up := s.up[i] + float64(0.2*barks*ln)
		lnSlope[i] = adding * up
		last[i] = up * float64(n-i)
	}
	spectra.Exp(slope, lnSlope)
	spectra.Exp(last, last) // what is left beyond the last band
	spectra.Raise(lnSlope, slope)
	for i, up := range lnSlope { // no logarithm any more
		above := float64(n - i) // where the slope is level
		if up != 1 {
			above = (1 - last[i]) / (1 - up)
		}
		last[i] = s.below[i] + above - 1
	}
	spectra.Log(last, last)
	for i, ln := range lnPower {
		last[i] = adding * (ln - last[i])
	}
	spectra.Exp(reach, last)
}

// rise adds to the bands what those below put into them, four bands at a time. It uses up the reach.
func (w *spreading) rise() {
	for k := 0; k < len(w.reach); k += 4 {
		sums := spectra.Rise(w.reach[:k], w.slope[:k])
		r, a, e := (*[4]float64)(w.reach[k:]), (*[4]float64)(w.slope[k:]), (*[4]float64)(w.e[k:])
		for i := range 4 {
			e[i] += sums[i]
		}
		for i := range 3 {
			for j := i + 1; j < 4; j++ {
				r[i] = float64(r[i] * a[i])
				e[j] += r[i]
			}
		}
	}
}
