package fourier

import (
	"fmt"
	"math/bits"

<<<<<<< HEAD
=======
	"ledgerline/stages/kernel/spectra"
>>>>>>> origin/main
	"ledgerline/stages/portable"
)

// A Plan is what transforms of one length need: their factors, and memory to work in. It serves one goroutine at a
// time; Clone makes one for another.
type Plan struct {
	n      int
	steps  []step
	re, im []float64 // where every other step writes to
}

// A step takes four parts of the values at a time to their places, and turns three of them. The turns are by 1, 2
// and 3 times p of n parts of a circle, for each p below n/4.
<<<<<<< HEAD
type step struct {
	n     int // of values of one transform in this step
	turns []turn
}

type turn struct{ re1, im1, re2, im2, re3, im3 float64 }
=======
type step struct{ turns spectra.Turns }
>>>>>>> origin/main

// NewPlan readies transforms of n values. It panics unless n is a power of two from 1 to 2^24.
func NewPlan(n int) *Plan {
	if n < 1 || n > 1<<24 || bits.OnesCount(uint(n)) != 1 {
		panic(fmt.Sprintf("fourier: a length of %d is no power of two from 1 to 2^24", n))
	}
	p := &Plan{n: n, re: make([]float64, n), im: make([]float64, n)}
	for ; n >= 4; n /= 4 {
<<<<<<< HEAD
		s := step{n, make([]turn, n/4)}
		for k := range s.turns {
			angle := func(times int) (re, im float64) {
				t := 2 * float64(times*k) / float64(n)
				return portable.CosPi(t), -portable.SinPi(t)
			}
			t := &s.turns[k]
			t.re1, t.im1 = angle(1)
			t.re2, t.im2 = angle(2)
			t.re3, t.im3 = angle(3)
=======
		m := n / 4
		s := step{make(spectra.Turns, 6*m)}
		for k := range m {
			for times := 1; times <= 3; times++ {
				t := 2 * float64(times*k) / float64(n)
				s.turns[(2*times-2)*m+k], s.turns[(2*times-1)*m+k] = portable.CosPi(t), -portable.SinPi(t)
			}
>>>>>>> origin/main
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
<<<<<<< HEAD
	if len(re) != p.n || len(im) != p.n {
		panic("fourier: slices of another length than the plan's")
	}
	fromRe, fromIm, toRe, toIm := re, im, p.re, p.im
=======
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
>>>>>>> origin/main
	stride := 1
	for i := range p.steps {
		s := &p.steps[i]
		if stride == 1 {
<<<<<<< HEAD
			s.first(toRe, toIm, fromRe, fromIm)
		} else {
			s.strided(toRe, toIm, fromRe, fromIm, stride)
=======
			spectra.First(toRe, toIm, fromRe, fromIm, s.turns)
		} else {
			spectra.Strided(toRe, toIm, fromRe, fromIm, s.turns, stride)
>>>>>>> origin/main
		}
		fromRe, fromIm, toRe, toIm = toRe, toIm, fromRe, fromIm
		stride *= 4
	}
	if stride < p.n {
		halves(toRe, toIm, fromRe, fromIm)
<<<<<<< HEAD
		fromRe, fromIm = toRe, toIm
	}
	if p.n > 1 && &fromRe[0] != &re[0] {
		copy(re, fromRe)
		copy(im, fromIm)
	}
=======
		return toRe, toIm
	}
	return fromRe, fromIm
>>>>>>> origin/main
}

// Inverse replaces a transform by the values that it is of, times their number.
func (p *Plan) Inverse(re, im []float64) { p.Forward(im, re) }

<<<<<<< HEAD
// first is the step in which values that are taken together lie a quarter of all apart.
func (s *step) first(toRe, toIm, fromRe, fromIm []float64) {
	m := s.n / 4
	ra, rb, rc, rd := fromRe[:m], fromRe[m:][:m], fromRe[2*m:][:m], fromRe[3*m:][:m]
	ia, ib, ic, id := fromIm[:m], fromIm[m:][:m], fromIm[2*m:][:m], fromIm[3*m:][:m]
	for p := range s.turns {
		w := &s.turns[p]
		outRe, outIm := (*[4]float64)(toRe[4*p:]), (*[4]float64)(toIm[4*p:])
		sumRe, sumIm, difRe, difIm := ra[p]+rc[p], ia[p]+ic[p], ra[p]-rc[p], ia[p]-ic[p]
		oddRe, oddIm, curRe, curIm := rb[p]+rd[p], ib[p]+id[p], ib[p]-id[p], rd[p]-rb[p]
		outRe[0], outIm[0] = sumRe+oddRe, sumIm+oddIm
		outRe[1], outIm[1] = turned(difRe+curRe, difIm+curIm, w.re1, w.im1)
		outRe[2], outIm[2] = turned(sumRe-oddRe, sumIm-oddIm, w.re2, w.im2)
		outRe[3], outIm[3] = turned(difRe-curRe, difIm-curIm, w.re3, w.im3)
	}
}

// strided is the step in which so many transforms are made next to each other.
func (s *step) strided(toRe, toIm, fromRe, fromIm []float64, stride int) {
	m := s.n / 4 * stride
	for p := range s.turns {
		w := s.turns[p]
		in, out := p*stride, 4*p*stride
		part := func(x []float64, at int) []float64 { return x[at:][:stride] }
		ra, rb, rc, rd := part(fromRe, in), part(fromRe, in+m), part(fromRe, in+2*m), part(fromRe, in+3*m)
		ia, ib, ic, id := part(fromIm, in), part(fromIm, in+m), part(fromIm, in+2*m), part(fromIm, in+3*m)
		re0, re1, re2, re3 := part(toRe, out), part(toRe, out+stride), part(toRe, out+2*stride), part(toRe, out+3*stride)
		im0, im1, im2, im3 := part(toIm, out), part(toIm, out+stride), part(toIm, out+2*stride), part(toIm, out+3*stride)
		for q := range stride {
			sumRe, sumIm, difRe, difIm := ra[q]+rc[q], ia[q]+ic[q], ra[q]-rc[q], ia[q]-ic[q]
			oddRe, oddIm, curRe, curIm := rb[q]+rd[q], ib[q]+id[q], ib[q]-id[q], rd[q]-rb[q]
			re0[q], im0[q] = sumRe+oddRe, sumIm+oddIm
			re1[q], im1[q] = turned(difRe+curRe, difIm+curIm, w.re1, w.im1)
			re2[q], im2[q] = turned(sumRe-oddRe, sumIm-oddIm, w.re2, w.im2)
			re3[q], im3[q] = turned(difRe-curRe, difIm-curIm, w.re3, w.im3)
		}
	}
}

// turned is a complex product, no part of which is fused.
func turned(re, im, byRe, byIm float64) (float64, float64) {
	return float64(re*byRe) - float64(im*byIm), float64(re*byIm) + float64(im*byRe)
}

=======
>>>>>>> origin/main
// halves is the last step where the length is no power of four.
func halves(toRe, toIm, fromRe, fromIm []float64) {
	m := len(fromRe) / 2
	for q := range m {
		a, b, c, d := fromRe[q], fromIm[q], fromRe[q+m], fromIm[q+m]
		toRe[q], toIm[q], toRe[q+m], toIm[q+m] = a+c, b+d, a-c, b-d
	}
}
