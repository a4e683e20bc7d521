package fourier

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

func noise(n int, seed uint64) (re, im []float64) {
	random := rand.New(rand.NewPCG(seed, 1))
	re, im = make([]float64, n), make([]float64, n)
	for i := range re {
		re[i], im[i] = 2*random.Float64()-1, 2*random.Float64()-1
	}
	return re, im
}

// TestForwardAgainstGonum compares with a general-purpose library, gonum.org/v1/gonum/dsp/fourier.
func TestForwardAgainstGonum(t *testing.T) {
	for n := 1; n <= 1<<16; n *= 2 {
		re, im := noise(n, uint64(n))
		x := make([]complex128, n)
		for i := range x {
			x[i] = complex(re[i], im[i])
		}
		want := fourier.NewCmplxFFT(n).Coefficients(nil, x)
		NewPlan(n).Forward(re, im)
		for k, w := range want {
			if by := cmplx.Abs(complex(re[k], im[k]) - w); by > 1e-14*math.Sqrt(float64(n))*(1+math.Log2(float64(n))) {
				t.Fatalf("%d values: bin %d is off by %g", n, k, by)
			}
		}
	}
}

// TestForwardOfOneTurn checks the closed form: one complex sine fills one bin.
func TestForwardOfOneTurn(t *testing.T) {
	const n, bin = 512, 77
	re, im := make([]float64, n), make([]float64, n)
	for i := range re {
		im[i], re[i] = math.Sincos(2 * math.Pi * bin * float64(i) / n)
	}
	NewPlan(n).Forward(re, im)
	for k := range re {
		want := complex(0, 0)
		if k == bin {
			want = n
		}
		if by := cmplx.Abs(complex(re[k], im[k]) - want); by > 1e-11 {
			t.Errorf("bin %d is off by %g", k, by)
		}
	}
}

func TestInverseGivesBack(t *testing.T) {
	for _, n := range []int{1, 2, 4, 8, 2048, 4096} {
		re, im := noise(n, 5)
		wasRe, wasIm := noise(n, 5)
		p := NewPlan(n)
		p.Forward(re, im)
		p.Clone().Inverse(re, im)
		for i := range re {
			if by := math.Abs(re[i]/float64(n)-wasRe[i]) + math.Abs(im[i]/float64(n)-wasIm[i]); by > 1e-14 {
				t.Fatalf("%d values: value %d is off by %g", n, i, by)
			}
		}
	}
}

func TestLengthsThatAreRefused(t *testing.T) {
	for _, n := range []int{-4, 0, 3, 12, 1<<24 + 1, 1 << 25} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("a length of %d is taken", n)
				}
			}()
			NewPlan(n)
		}()
	}
}

func BenchmarkForward(b *testing.B) {
	for _, n := range []int{512, 2048, 4096, 16384} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p := NewPlan(n)
			re, im := noise(n, 1)
			b.SetBytes(int64(16 * n))
			for b.Loop() {
				p.Forward(re, im)
			}
		})
	}
}
