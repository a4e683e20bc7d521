package bandlimit

import (
	"math"
	"math/cmplx"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// bent is a spline at 0, 1, 2, ..., corrected by bends.
func (s spline) bent(b *Bends) []float64 {
	x := make([]float64, 100)
	for i := range x {
		if end, _ := s.corner(s.n); float64(i) < end { // after it rounding is all that its powers leave
			x[i] = s.at(float64(i))
		}
	}
	for j := range s.n + 1 {
		at, jump := s.corner(j)
		var d [Orders]float64
		d[s.n-2] = jump
		var owed [Spread]float64
		before := math.Floor(at)
		b.Add(&owed, at-before, &d)
		for i, v := range owed {
			x[int(before)-half+1+i] += v
		}
	}
	return x
}

// As with corners (see TestCornersLeaveTheBandAsItIs), for splines whose jumps lie in each of five
// derivatives. What is kept is what was measured when they were made, less 2 dB.
func TestBendsLeaveTheBandAsItIs(t *testing.T) {
	for _, c := range []struct {
		factor int
		limits [Orders]float64 // up to 17 kHz, dB
	}{
		{2, [Orders]float64{-127, -124, -121, -118, -115}},
		{4, [Orders]float64{-171, -166, -162, -157, -153}},
		{8, [Orders]float64{-173, -169, -164, -160, -155}},
		{16, [Orders]float64{-188, -184, -179, -175, -170}},
	} {
		b := NewBends(c.factor)
		for i, limit := range c.limits {
			off := 0.0
			places := []float64{30, 30.4999, 30.9999, 30.1, 30.25, 30.7}
			for _, from := range places[:long.Or(1, 6)] {
				for _, width := range long.Or([]float64{1.7}, []float64{0.9, 1, 1.7}) {
					s := spline{i + 2, from, width}
					x, jump := s.bent(b), math.Pow(width, float64(1-s.n))
					off = max(off, worst(0, kHz(17)/float64(c.factor), 0.002, func(f float64) float64 {
						return cmplx.Abs(transform(x, f)-s.spectrum(f)) / jump
					}))
				}
			}
			if dB(off) > limit {
				t.Errorf("factor %d, jump in derivative %d: the band is off by %.1f dB, want %.0f", c.factor, i+1,
					dB(off), limit)
			}
		}
	}
}

// The kernel has no moment from the first to the fifth, so that what is owed ends with it, before a place and
// after it alike.
func TestBendsEndWithTheKernel(t *testing.T) {
	for _, factor := range long.Or([]int{4}, factors) {
		kernel := bendKernel(factor)
		all := kernel.cumulated()
		for k, m := range all[len(all)-1] {
			if k > 0 && math.Abs(m) > 1e-9 {
				t.Errorf("factor %d: moment %d is %v", factor, k, m)
			}
		}
	}
}

// Around has what At has, and goes on.
func TestCurveAround(t *testing.T) {
	c := Curve{0.3, -1.2, 0.7, 2.5, -0.4, 1.1, 0.2, -3, 0.1, 0.6, -0.2, 0.9}
	for _, x := range []float64{-0.5, -0.1, 0, 0.3, 0.5} {
		p, factorial := polynomial(c[:]), 1.0
		for k, got := range c.Around(x) {
			if k > 0 {
				p, factorial = p.derive(), factorial*float64(k)
			}
			if want := p.at(x) / factorial; math.Abs(got-want) > 1e-12 {
				t.Errorf("at %v, power %d: %v, want %v", x, k, got, want)
			}
		}
	}
}
