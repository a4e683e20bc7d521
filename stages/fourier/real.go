package fourier

import (
	"ledgerline/stages/kernel/spectra"
	"ledgerline/stages/portable"
)

// A Real plan transforms real signals of an even length, half the work of a complex one. It serves one
// goroutine at a time.
type Real struct {
	half           *Plan
	turnRe, turnIm []float64 // by k/n of a circle, for each bin up to a quarter of the length
	re, im         []float64
}

// NewReal readies transforms of n real values. It panics unless n is a power of two from 2 to 2^25.
func NewReal(n int) *Real {
	r := &Real{
		half: NewPlan(n / 2), re: make([]float64, n/2), im: make([]float64, n/2), turnRe: make([]float64, n/4+1),
		turnIm: make([]float64, n/4+1),
	}
	for k := range r.turnRe {
		t := 2 * float64(k) / float64(n)
		r.turnRe[k], r.turnIm[k] = portable.CosPi(t), -portable.SinPi(t)
	}
	return r
}

// Clone is a plan with the same factors and memory of its own.
func (r *Real) Clone() *Real {
	c := *r
	c.half, c.re, c.im = r.half.Clone(), make([]float64, len(r.re)), make([]float64, len(r.im))
	return &c
}

// Len is the number of values of a transform.
func (r *Real) Len() int { return 2 * len(r.re) }

// Forward sets bins 0 to n/2 of re and im to the transform of the n values of x, which it leaves alone.
func (r *Real) Forward(re, im, x []float64) {
	// The even values are the real part of a signal of half the length, the odd ones its imaginary part.
	spectra.Part(r.re, r.im, x)
	r.unfold(re, im)
}

// ForwardTapered is Forward of the products x[i]*taper[i].
func (r *Real) ForwardTapered(re, im, x, taper []float64) {
	spectra.PartTapered(r.re, r.im, x, taper)
	r.unfold(re, im)
}

func (r *Real) unfold(re, im []float64) {
	n := len(r.re)
	zRe, zIm := r.half.forward(r.re, r.im)
	re[0], im[0] = zRe[0]+zIm[0], 0
	re[n], im[n] = zRe[0]-zIm[0], 0
	spectra.Unfold(re, im, zRe, zIm, r.turnRe, r.turnIm)
}

// Inverse sets the n values of x to those that bins 0 to n/2 are the transform of, times n/2. The bins are
// left alone; the imaginary parts of the first and the last count as 0.
func (r *Real) Inverse(x, re, im []float64) { r.InverseScaled(x, re, im, 1) }

// InverseScaled is Inverse times a factor.
func (r *Real) InverseScaled(x, re, im []float64, by float64) {
	even, odd := r.inverse(re, im)
	spectra.Join(x[:2*len(even)], even, odd, by, by)
}

// InverseOdd sets every other value of x to one of even, and those between to the odd values that Inverse
// would find, times a factor.
func (r *Real) InverseOdd(x, even, re, im []float64, by float64) {
	_, odd := r.inverse(re, im)
	spectra.Join(x[:2*len(odd)], even, odd, 1, by)
}

func (r *Real) inverse(re, im []float64) (even, odd []float64) {
	spectra.Fold(r.re, r.im, re, im, r.turnRe, r.turnIm)
	odd, even = r.half.forward(r.im, r.re) // the other way around it is the inverse
	return even, odd
}
