package fourier

import (
	"fmt"
	"math/bits"

	"ledgerline/stages/kernel/spectra"
	"ledgerline/stages/portable"
)

// A Plan is what transforms of one length need: their factors, and memory to work in. It serves one goroutine
// at a time; Clone makes one for another.
type Plan struct {
	n      int
	steps  []step
	re, im []float64 // where every other step writes to
}

// A step takes four parts of the values at a time to their places, and turns three of them. The turns are by
// 1, 2 and 3 times p of n parts of a circle, for each p below n/4.
type step struct{ turns spectra.Turns }

// NewPlan readies transforms of n values. It panics unless n is a power of two from 1 to 2^24.
func NewPlan(n int) *Plan {
	if n < 1 || n > 1<<24 || bits.OnesCount(uint(n)) != 1 {
		panic(fmt.Sprintf("fourier: a length of %d is no power of two from 1 to 2^24", n))
	}
	p := &Plan{n: n, re: make([]float64, n), im: make([]float64, n)}
	for ; n >= 4; n /= 4 {
		m := n / 4
		s := step{make(spectra.Turns, 6*m)}
		for k := range m {
			for times := 1; times <= 3; times++ {
				t := 2 * float64(times*k) / float64(n)
				s.turns[(2*times-2)*m+k], s.turns[(2*times-1)*m+k] = portable.CosPi(t), -portable.SinPi(t)
			}
		}
		p.steps = append(p.steps, s)
	}
	return p
}

// Clone is a plan with the same factors and memory of its own.
func (p *Plan) Clone() *Plan {
	q := *p
	q.re, q.im = make([]float64, p.n), make([]float64, p.n)
	return &q
}

// Len is the number of values of a transform.
func (p *Plan) Len() int { return p.n }

// Forward replaces the values by their transform. It panics unless both slices have the plan's length.
func (p *Plan) Forward(re, im []float64) {
	toRe, toIm := p.forward(re, im)
	if p.n > 1 && &toRe[0] != &re[0] {
		copy(re, toRe)
		copy(im, toIm)
	}
}

// forward uses up the values and returns where their transform is: in their place or in the plan's memory.
func (p *Plan) forward(re, im []float64) (toRe, toIm []float64) {
	if len(re) != p.n || len(im) != p.n {
		panic("fourier: slices of another length than the plan's")
	}
	fromRe, fromIm := re, im
	toRe, toIm = p.re, p.im
	stride := 1
	for i := range p.steps {
		s := &p.steps[i]
		if stride == 1 {
			spectra.First(toRe, toIm, fromRe, fromIm, s.turns)
		} else {
			spectra.Strided(toRe, toIm, fromRe, fromIm, s.turns, stride)
		}
		fromRe, fromIm, toRe, toIm = toRe, toIm, fromRe, fromIm
		stride *= 4
	}
	if stride < p.n {
		spectra.Halves(toRe, toIm, fromRe, fromIm) // the length is no power of four
		return toRe, toIm
	}
	return fromRe, fromIm
}

// Inverse replaces a transform by the values that it is of, times their number.
func (p *Plan) Inverse(re, im []float64) { p.Forward(im, re) }
