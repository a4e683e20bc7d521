package stages_test

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// samplePeak is the largest magnitude in x; a sample that is not a number is above all.
func samplePeak(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		m = max(m, math.Abs(v))
	}
	return m
}

// trueTimes is how many times finer than the samples a true peak is sought; a
// peak between two of these values is at most 0.01 dB higher (ITU-R BS.1770, attachment 1 to
// annex 2: 20 log10 cos(pi f/n)).
const trueTimes = 32

// truePeak is the largest magnitude of the band-limited periodic signal of
// which x is one period. x is whole cycles, or silent at both ends. It is exact
// where trueTimes looks: each set of values between the samples is had by turning the
// phases of the whole spectrum.
func truePeak(x []float64) float64 {
	fft := fourier.NewFFT(len(x))
	c := fft.Coefficients(nil, x)
	turned := make([]complex128, len(c))
	y := make([]float64, len(x))
	m := samplePeak(x)
	for p := 1; p < trueTimes; p++ {
		turn := 2 * math.Pi * float64(p) / trueTimes / float64(len(x))
		for k := range c {
			turned[k] = c[k] * cmplx.Rect(1/float64(len(x)), turn*float64(k))
		}
		if len(x)%2 == 0 {
			turned[len(c)-1] = 0 // half the rate has no phase to turn
		}
		m = max(m, samplePeak(fft.Sequence(y, turned)))
	}
	return m
}

// Between its samples a tone has its amplitude, and a lone sample of 1 is the highest
// of what lies around it.
func TestTruePeakIsExact(t *testing.T) {
	const n = 960
	for _, cycles := range []float64{1, 77, 240, 479} {
		x := make([]float64, n)
		for i := range x {
			x[i] = 0.7 * math.Sin(2*math.Pi*math.Mod(cycles*float64(i)/n, 1)+math.Pi*cycles/n)
		}
		if got := truePeak(x); math.Abs(got-0.7) > 1e-12 {
			t.Errorf("%v cycles in %d frames: %v, want 0.7", cycles, n, got)
		}
	}
	one := make([]float64, n)
	one[n/2] = 1
	if got := truePeak(one); got != 1 {
		t.Errorf("a lone sample: %v", got)
	}
}
