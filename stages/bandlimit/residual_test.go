package bandlimit

import (
	"math"
	"math/cmplx"
	"testing"
)

// A spline is the B-spline of order n: n boxes of a width convolved, which
// starts at a time of from. It has n+1 corners, a width apart; at the j-th of
// them its derivative n-1 jumps by (-1)^j C(n, j)/width^(n-1), and its Fourier
// transform is width sinc(f width)^n about its middle (Schoenberg 1946, from
// memory). So it has corners of one sort only and a spectrum in closed form.
type spline struct {
	n           int
	from, width float64
}

func (s spline) corner(j int) (at, jump float64) {
	choose := 1.0
	for i := range j {
		choose *= -float64(s.n-i) / float64(i+1)
	}
	return s.from + float64(j)*s.width, choose / math.Pow(s.width, float64(s.n-1))
}

// at is the value at t: each corner starts a power.
func (s spline) at(t float64) float64 {
	sum := 0.0
	for j := range s.n + 1 {
		at, jump := s.corner(j)
		if t > at {
			sum += jump * math.Pow(t-at, float64(s.n-1)) / math.Gamma(float64(s.n))
		}
	}
	return sum
}

func (s spline) spectrum(f float64) complex128 {
	middle := s.from + float64(s.n)/2*s.width
	return cmplx.Rect(s.width*math.Pow(sinc(f*s.width), float64(s.n)), -2*math.Pi*f*middle)
}

// sampled is the spline at 0, 1, 2, ..., its corners corrected.
func (s spline) sampled(r *Residuals) []float64 {
	x := make([]float64, 100)
	for i := range x {
		x[i] = s.at(float64(i))
	}
	for j := range s.n + 1 {
		at, jump := s.corner(j)
		var d [5]float64
		d[s.n-1] = jump
		var owed [Spread]float64
		before := math.Floor(at)
		r.Corner(&owed, at-before, d[1], d[2], d[3])
		for i, v := range owed {
			x[int(before)-half+1+i] += v
		}
	}
	return x
}

// In the band of the track a sampled spline must have the spectrum of the
// spline itself: nothing folded back, and no droop. What is left is told
// relative to a jump of 1.
func TestCornersLeaveTheBandAsItIs(t *testing.T) {
	for _, c := range []struct {
		factor int
		dB     [3]float64 // of a ramp, a parabola and a cubic
	}{
		{2, [3]float64{-121, -87, -64}},
		{4, [3]float64{-162, -132, -109}},
		{8, [3]float64{-190, -160, -136}},
		{16, [3]float64{-195, -170, -146}},
	} {
		r := NewResiduals(c.factor)
		for i, limit := range c.dB {
			off := 0.0
			for _, from := range []float64{30, 30.1, 30.25, 30.4999, 30.7, 30.9999} {
				for _, width := range []float64{0.3, 0.9, 1, 1.7} {
					off = max(off, spline{i + 2, from, width}.off(r, c.factor))
				}
			}
			if dB(off) > limit {
				t.Errorf("factor %d, jump in derivative %d: the band is off by %.1f dB, want %.0f", c.factor, i+1, dB(off), limit)
			}
		}
	}
}

// off is by how much the spectrum of the sampled spline differs from its own in the band.
func (s spline) off(r *Residuals, factor int) float64 {
	x := s.sampled(r)
	jump := math.Pow(s.width, float64(1-s.n))
	return worst(0, passEdge/float64(factor), 0.002, func(f float64) float64 {
		return cmplx.Abs(transform(x, f)-s.spectrum(f)) / jump
	})
}

// transform is the sum of x[i] e^(-2 pi i f).
func transform(x []float64, f float64) (sum complex128) {
	for i, v := range x {
		sum += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*f*float64(i))
	}
	return sum
}
