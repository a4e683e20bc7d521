package stages_test

import (
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A sine A sin(theta) clipped at the level c, r = c/A, phi = asin(r), has the
// Fourier series of sines
//
//	b1 = 2A/pi (phi + r sqrt(1-r^2))
//	bn = 2A/(pi n) (sin((n-1)phi)/(n-1) + sin((n+1)phi)/(n+1))   n odd
//	bn = 0                                                       n even
//
// which follows from its symmetry and one integration by parts: the slope is
// A cos(theta) where |theta| < phi and nothing elsewhere. Analytic coefficients
// of periodically clipped functions are treated in the RAND memorandum
// "Analytic Evaluation of the Fourier Coefficients of a Clipped Periodic
// Function".
func clippedSine(r float64, n int) float64 {
	phi := math.Asin(r)
	switch {
	case n == 1:
		return 2 / math.Pi * (phi + r*math.Sqrt(1-r*r))
	case n%2 == 0:
		return 0
	}
	m := float64(n)
	return 2 / (math.Pi * m) * (math.Sin((m-1)*phi)/(m-1) + math.Sin((m+1)*phi)/(m+1))
}

// dense is the number of samples in the one cycle that is clipped: the series
// falls with the square of n, so that what folds back is below 1e-11, in a quick run below 2e-10.
func dense() int { return long.Or(1<<18, 1<<20) }

// clipCycle clips one cycle of a sine of amplitude 1/r at full scale by the
// stage itself.
func clipCycle(r float64) []float64 {
	x := make([]float64, dense())
	for i := range x {
		x[i] = math.Sin(2*math.Pi*float64(i)/float64(len(x))) / r
	}
	return oneChannel(hardClipAt(0), x...)
}

// spectrum is the coefficients of cos(n theta) and sin(n theta) in a cycle.
func spectrum(cycle []float64) (cos, sin []float64) {
	for _, z := range fourier.NewFFT(len(cycle)).Coefficients(nil, cycle) {
		cos = append(cos, 2*real(z)/float64(len(cycle)))
		sin = append(sin, -2*imag(z)/float64(len(cycle)))
	}
	return cos, sin
}

func TestHardClippedSineAgainstClosedForm(t *testing.T) {
	for _, r := range []float64{0.99, math.Sqrt(0.5), 0.01, 0.8, 0.5, 0.1}[:long.Or(3, 6)] {
		cos, sin := spectrum(clipCycle(r))
		for n := 1; n <= 101; n++ {
			if want := clippedSine(r, n); math.Abs(r*sin[n]-want) > 1e-9 {
				t.Errorf("r = %v: b%d is %.12f, want %.12f", r, n, r*sin[n], want)
			}
			if math.Abs(r*cos[n]) > 1e-9 {
				t.Errorf("r = %v: a%d is %v, want 0: the clip is symmetrical", r, n, r*cos[n])
			}
		}
		if math.Abs(r*cos[0]) > 1e-9 {
			t.Errorf("r = %v: mean %v, want 0", r, r*cos[0]/2)
		}
	}
}

// Two values have a closed form by themselves: r = 1/2 gives b1 = 1/3 +
// sqrt(3)/(2 pi); r = 1/sqrt(2) gives b3 = 1/(3 pi), b5 = -1/(15 pi).
func TestHardClippedSineAtRoundLevels(t *testing.T) {
	long.Only(t, "TestHardClippedSineAgainstClosedForm has the series of any level")
	_, half := spectrum(clipCycle(0.5))
	_, root := spectrum(clipCycle(math.Sqrt(0.5)))
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"b1 at 1/2", 0.5 * half[1], 1./3 + math.Sqrt(3)/(2*math.Pi)},
		{"b3 at 1/sqrt 2", math.Sqrt(0.5) * root[3], 1 / (3 * math.Pi)},
		{"b5 at 1/sqrt 2", math.Sqrt(0.5) * root[5], -1 / (15 * math.Pi)},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s is %.12f, want %.12f", c.name, c.got, c.want)
		}
	}
}

// Total harmonic distortion (relative to the fundamental), RMS and crest factor
// by the closed forms of the same series: mean square = 2/pi (A^2 (phi/2 -
// sin(2 phi)/4) + c^2 (pi/2 - phi)); evaluated to the digits given.
func TestHardClippedSineDistortion(t *testing.T) {
	long.Only(t, "TestHardClippedSineAgainstClosedForm has each harmonic")
	for _, c := range []struct{ r, thd, rms, crest float64 }{
		{0.99, 0.2862, 0.706262, 2.933},
		{0.95, 1.9240, 0.697817, 2.680},
		{0.90, 4.2199, 0.681277, 2.418},
		{0.80, 8.9786, 0.636054, 1.992},
		{0.60, 18.5252, 0.514358, 1.338},
		{0.50, 23.2938, 0.442155, 1.068},
		{0.25, 35.4280, 0.236276, 0.490},
		{0.10, 43.0397, 0.097853, 0.189},
		{0.01, 47.8022, 0.009979, 0.018},
	} {
		rms, thd := distortion(c.r)
		for _, v := range []struct {
			name             string
			got, want, digit float64
		}{
			{"THD in %", 100 * thd, c.thd, 1e-4},
			{"RMS", c.r * rms, c.rms, 1e-6},
			{"crest factor in dB", -stages.DB(rms), c.crest, 1e-3},
		} {
			if math.Abs(v.got-v.want) > v.digit/2+1e-9 {
				t.Errorf("r = %v: %s is %v, want %v", c.r, v.name, v.got, v.want)
			}
		}
	}
}

// distortion is the RMS of a clipped sine, relative to its ceiling, and all
// that is not its fundamental, relative to the fundamental.
func distortion(r float64) (rms, thd float64) {
	var sum, fundamental float64
	cycle := clipCycle(r)
	dense := float64(len(cycle))
	for i, x := range cycle {
		sum += x * x
		fundamental += x * math.Sin(2*math.Pi*float64(i)/dense)
	}
	square, b1 := sum/dense, 2*fundamental/dense
	return math.Sqrt(square), math.Sqrt(2*square-b1*b1) / b1
}

// Driven harder and harder the sine becomes a square wave: bn -> 4/(pi n), and
// the distortion rises to sqrt(pi^2/8 - 1), 48.34 %.
func TestHardClippedSineBecomesSquare(t *testing.T) {
	long.Only(t, "TestHardClippedSineAgainstClosedForm has the series of any level")
	limit := math.Sqrt(math.Pi*math.Pi/8 - 1)
	last := 0.0
	for _, r := range []float64{1, 0.5, 0.1, 0.01, 0.001} {
		_, thd := distortion(r)
		if r < 1 && (thd <= last || thd >= limit) {
			t.Errorf("r = %v: THD is %v, want it between %v and %v", r, thd, last, limit)
		}
		last = thd
	}
	if math.Abs(last-limit) > 1e-3 {
		t.Errorf("THD ends at %v, want %v", last, limit)
	}
	_, sin := spectrum(clipCycle(0.001))
	for n := 1; n <= 21; n += 2 {
		if want := 4 / (math.Pi * float64(n)); math.Abs(sin[n]-want) > 1e-4 {
			t.Errorf("b%d is %v, want %v", n, sin[n], want)
		}
	}
}

// The mean square of what was removed is, by Parseval's theorem, that of the
// sine and that of the clipped sine less twice what they have in common, which
// is the fundamental.
func TestHardClippedSineRemoved(t *testing.T) {
	const r = 0.5
	s := hardClipAt(0)(stages.Format{Rate: 44100, Channels: 1})
	x := make([]float64, dense())
	for i := range x {
		x[i] = math.Sin(2*math.Pi*float64(i)/float64(len(x))) / r
	}
	stagetest.Render(s, stages.Block{x})
	b1, phi := clippedSine(r, 1), math.Asin(r)
	square := 2 / math.Pi * (phi/2 - math.Sin(2*phi)/4 + r*r*(math.Pi/2-phi))
	want := (0.5 - b1 + square) / (r * r)
	if got := s.Effect().Removed / float64(len(x)); math.Abs(got-want) > 1e-9 {
		t.Errorf("removed %v a sample, want %v", got, want)
	}
	if got := s.Effect().Cut; got != 1/r {
		t.Errorf("deepest cut %v, want %v", got, 1/r)
	}
}
