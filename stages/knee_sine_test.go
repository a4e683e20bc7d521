package stages_test

import (
	"fmt"
	"math"
	"sync"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/integrate/quad"
)

// kneed is the curve of a knee that starts at t, the ceiling being 1, for magnitudes: the slope falls
// linearly from 1 at t to 0 at 2-t.
func kneed(x, t float64) float64 {
	switch {
	case x <= t:
		return x
	case x >= 2-t:
		return 1
	}
	return x - (x-t)*(x-t)/(4*(1-t))
}

// kneedSine is the coefficient of sin(n theta) in the curve of a sine of an amplitude: the Fourier integral,
// by Gauss and Legendre's rule on each of the pieces on which the curve is smooth.
func kneedSine(amplitude, t float64, n int) float64 {
	if n%2 == 0 {
		return 0
	}
	ends := []float64{0, math.Asin(min(1, t/amplitude)), math.Asin(min(1, (2-t)/amplitude)), math.Pi / 2}
	sum := 0.0
	at, weight := legendre()
	for i, to := range ends[1:] {
		for k := range at {
			theta := ends[i] + at[k]*(to-ends[i])
			sum += weight[k] * (to - ends[i]) * kneed(amplitude*math.Sin(theta), t) * math.Sin(float64(n)*theta)
		}
	}
	return 4 / math.Pi * sum
}

// legendre are the places from 0 to 1 of Gauss and Legendre's rule, and their weights.
var legendre = sync.OnceValues(func() (at, weight []float64) {
	at, weight = make([]float64, 120), make([]float64, 120)
	quad.Legendre{}.FixedLocations(at, weight, 0, 1)
	return at, weight
})

// The integral itself is that of a corner, in closed form, where the knee is nothing.
func TestKneedSineWithoutKnee(t *testing.T) {
	for n := range 60 {
		if got, want := kneedSine(2, 1, n), 2*clippedSine(0.5, n); n > 0 && math.Abs(got-want) > 1e-13 {
			t.Errorf("b%d: %v, want %v", n, got, want)
		}
	}
}

func TestHardClipKneeAgainstFourierIntegral(t *testing.T) {
	long.Only(t, "TestOversampledClipKneeAgainstFourierIntegral has the same knee")
	dense := long.Or(1<<17, 1<<18) // the series falls with the cube of n
	for _, knee := range long.Or([]float64{1, 12}, []float64{0.01, 1, 6, 12}) {
		start := math.Pow(10, -knee/20)
		for _, amplitude := range []float64{0.9, 1.2, 10} {
			x := make([]float64, dense)
			for i := range x {
				x[i] = amplitude * math.Sin(2*math.Pi*float64(i)/float64(dense))
			}
			cos, sin := spectrum(oneChannel(hardClipWith(0, knee, false), x...))
			for n := 1; n <= 101; n++ {
				if want := kneedSine(amplitude, start, n); math.Abs(sin[n]-want) > 1e-9 || math.Abs(cos[n]) > 1e-9 {
					t.Errorf("knee %v dB, amplitude %v: b%d is %.12f, want %.12f; a%d is %v", knee, amplitude, n, sin[n],
						want, n, cos[n])
				}
			}
		}
	}
}

// Between the samples the filters have a say too: they pass a tone with a ripple of 2e-8, and that
// is all that a clip with a knee is off by, as is one without.
func TestOversampledClipKneeAgainstFourierIntegral(t *testing.T) {
	for _, c := range []struct {
		factor  int64
		hz, off float64
		quick   float64 // the knee of a quick run
	}{{4, 1244.5, 6e-9, 0.5}, {8, 1244.5, 6e-9, 0.5}, {8, 4978, 3e-8, 6}} {
		if c.hz < 4000 && !long.Wanted() {
			continue // a tone that takes two seconds
		}
		for _, knee := range long.Or([]float64{c.quick}, []float64{0, 0.5, 1, 6, 12}) {
			t.Run(fmt.Sprint("factor ", c.factor, " ", c.hz, " Hz, knee ", knee), func(t *testing.T) {
				t.Parallel()
				got := harmonicsOff(kneeClipAt(stages.DB(aliasClip), knee, c.factor), c.hz, func(n int) float64 {
					return aliasClip * kneedSine(1/aliasClip, math.Pow(10, -knee/20), n)
				})
				if got > c.off {
					t.Errorf("a harmonic is off by %v", got)
				}
			})
		}
	}
}

// harmonicsOff is by how much a harmonic of a tone up to 20 kHz differs from what is wanted, at most.
func harmonicsOff(stage stagetest.Maker, hz float64, want func(n int) float64) (worst float64) {
	frames := aliasLength(hz)
	x := oneChannel(stage, sine(hz, 0.1, 1, frames+2*aliasLead)...)[aliasLead : aliasLead+frames]
	phase := 0.1 + 2*math.Pi*math.Mod(hz*aliasLead/aliasRate, 1)
	harmonics(fourier.NewFFT(len(x)).Coefficients(nil, x), hz, func(bin complex128, n int) {
		if n > 0 {
			// b sin(n (wt + phase)) has the coefficient -ib/2 e^(i n phase).
			b := want(n)
			sin, cos := math.Sincos(float64(n) * phase)
			worst = max(worst, math.Sqrt(power(bin*complex(2/float64(frames), 0)-complex(b*sin, -b*cos))))
		}
	})
	return worst
}
