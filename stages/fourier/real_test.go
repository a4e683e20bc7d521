package fourier

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// TestRealAgainstGonum compares with a general-purpose library, and the way back with the values.
func TestRealAgainstGonum(t *testing.T) {
	for n := 2; n <= 1<<15; n *= 2 {
		x, _ := noise(n, uint64(n))
		want := fourier.NewFFT(n).Coefficients(nil, x)
		r := NewReal(n)
		re, im := make([]float64, n/2+1), make([]float64, n/2+1)
		r.Forward(re, im, x)
		for k, w := range want {
			if by := cmplx.Abs(complex(re[k], im[k]) - w); by > 1e-14*math.Sqrt(float64(n))*(1+math.Log2(float64(n))) {
				t.Fatalf("%d values: bin %d is off by %g", n, k, by)
			}
		}
		back := make([]float64, n)
		r.Inverse(back, re, im)
		for i := range x {
			if by := math.Abs(back[i]/float64(n/2) - x[i]); by > 1e-14 {
				t.Fatalf("%d values: value %d is off by %g", n, i, by)
			}
		}
	}
}
