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
		factor  int
		inner   [3]float64 // up to 17 kHz: of a ramp, a parabola and a cubic, dB
		through [3]float64 // up to 20 kHz, the edge of the kernel's own transition
	}{
		{2, [3]float64{-131, -127, -124}, [3]float64{-95, -93, -90}},
		{4, [3]float64{-164, -159, -155}, [3]float64{-160, -156, -152}},
		{8, [3]float64{-190, -190, -172}, [3]float64{-173, -168, -164}},
		{16, [3]float64{-190, -190, -172}, [3]float64{-190, -187, -172}},
	} {
		r := NewResiduals(c.factor)
		for i := range 3 {
			inner, through := 0.0, 0.0
			for _, from := range []float64{30, 30.1, 30.25, 30.4999, 30.7, 30.9999} {
				for _, width := range []float64{0.3, 0.9, 1, 1.7} {
					s := spline{i + 2, from, width}
					inner = max(inner, s.off(r, kHz(17)/float64(c.factor)))
					through = max(through, s.off(r, kHz(20)/float64(c.factor)))
				}
			}
			if dB(inner) > c.inner[i] || dB(through) > c.through[i] {
				t.Errorf("factor %d, jump in derivative %d: the band is off by %.1f and %.1f dB, want %.0f and %.0f",
					c.factor, i+1, dB(inner), dB(through), c.inner[i], c.through[i])
			}
		}
	}
}

// off is by how much the spectrum of the sampled spline differs from its own up to a frequency.
func (s spline) off(r *Residuals, to float64) float64 {
	x := s.sampled(r)
	jump := math.Pow(s.width, float64(1-s.n))
	return worst(0, to, 0.002, func(f float64) float64 {
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

// The kernel has neither mean nor second moment, so that what a corner owes ends
// where the kernel ends, before it and after it alike.
func TestResidualsEndWithTheKernel(t *testing.T) {
	for _, factor := range factors {
		r := NewResiduals(factor)
		for k := range r {
			for row := 1; row <= fractions+1; row++ {
				mirrored := fractions + 2 - row
				for j := range Spread {
					// An odd derivative's jump owes the same on both sides, an even one's the opposite.
					sign := float64(1 - 2*(k%2))
					if d := math.Abs(r[k][row][j] - sign*r[k][mirrored][Spread-1-j]); d > 2e-9 {
						t.Fatalf("factor %d, jump in derivative %d, row %d: what is owed to samples %d and %d differs by %v",
							factor, k+1, row, j, Spread-1-j, d)
					}
				}
			}
		}
	}
}
