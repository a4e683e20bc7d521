package bandlimit

import (
	"sync"

	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

// Around a value at four times the track's rate the signal is a polynomial of the eleventh degree, of the
// values at twice the rate to either side. They are weighed by a window w that stays where it is, so that the
// weights of a pair are smooth:
//
//	x(t) = sum over n of x[n] w(n) sinc(t-n) / w(t)
//
// which is exact for what is band-limited far enough, but for what the window's ends cut off.
const (
	hillReach = 11
	hillBeta  = 17.25
	hillRange = 1.5 // values to either side in which the polynomial is used
)

// hills()[0] are the weights around a value at twice the rate, [1] around the middle of two.
var hills = sync.OnceValue(newHills)

func newHills() *[2]kernel.HillTable {
	h := new([2]kernel.HillTable)
	for half := range h {
		for k := range h[half] {
			after := float64(k) + float64(0.5*float64(half))
			c := chebyshev(hillRange, func(t float64) float64 {
				return sinc(t-after) * kaiser(after/hillReach, hillBeta) / kaiser(t/hillReach, hillBeta)
			})
			if after == 0 { // the value in the middle is both of its pair
				for d := range c {
					c[d] /= 2
				}
			}
			h[half][k] = kernel.HillWeights(&c)
		}
	}
	return h
}

// chebyshev is the polynomial through f at Chebyshev's nodes within a distance of 0, as coefficients of the
// powers of x.
func chebyshev(within float64, f func(x float64) float64) (c [kernel.HillTerms]float64) {
	const n = kernel.HillTerms
	var at, value, before, here [n]float64
	for i := range at {
		at[i] = portable.CosPi((float64(i) + 0.5) / n)
		value[i] = f(within * at[i])
	}
	// Those before and here are the polynomials T(m-1) and T(m) of x/within, by their coefficients.
	before[1], here[0] = 1/within, 1 // T(-1) = T(1)
	for m := range n {
		sum := 0.0
		for i, v := range value {
			sum += float64(v * portable.CosPi(float64(m)*(float64(i)+0.5)/n))
		}
		share := 2.0
		if m == 0 {
			share = 1
		}
		next := [n]float64{}
		for d := range c {
			c[d] += float64(share * sum / n * here[d])
			if d > 0 {
				next[d] = float64(2 / within * here[d-1])
			}
			next[d] -= before[d]
		}
		before, here = here, next
	}
	return c
}
