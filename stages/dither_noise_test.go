package stages_test

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

// The figures here are those of Lipshitz, Wannamaker and Vanderkooy,
// "Quantization and Dither: A Theoretical Survey", JAES 40(5), 1992 (from
// memory), and follow from the densities: q is a step, f how far a steady input
// is above a code, in steps. A figure passes within four standard
// deviations of its estimate from n samples.

// bitsHere and stepsHere are the word length of these tests and the steps in its full scale.
const bitsHere, stepsHere = 16, 1 << 15

// ditherErrors are the total errors, in steps, of in given in steps.
func ditherErrors(make stagetest.Maker, f stages.Format, in []float64) []float64 {
	b := stages.NewBlock(f.Channels, len(in))
	for c := range b {
		for i, x := range in {
			b[c][i] = x / stepsHere
		}
	}
	out := stagetest.Render(make(f), b)[f.Channels-1]
	for i := range out {
		out[i] = out[i]*stepsHere - in[i]
	}
	return out
}

var mono = stages.Format{Rate: 44100, Channels: 1, Seed: 3}

func steady(x float64, n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = x
	}
	return s
}

// everywhere is a sequence that meets each place between two codes equally
// often (multiples of the golden ratio), so that what depends on f is averaged.
func everywhere(n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		at := float64(i) * math.Phi
		s[i] = 1000 * (at - math.Floor(at))
	}
	return s
}

// moment is the mean of the k-th powers of e.
func moment(e []float64, k int) float64 {
	sum := 0.0
	for _, x := range e {
		power := x
		for range k - 1 {
			power *= x
		}
		sum += power
	}
	return sum / float64(len(e))
}

// within fails the test if got is further from want than four times sigma.
func within(t *testing.T, what string, got, want, sigma float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 4*sigma+1e-12) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, 4*sigma)
	}
}

// Cumulative distributions of the two densities, in steps.
var cumulative = map[string]func(float64) float64{
	"triangular": func(x float64) float64 {
		x = max(-1, min(1, x))
		return 0.5 + x - x*math.Abs(x)/2
	},
	"rectangular": func(x float64) float64 { return 0.5 + max(-0.5, min(0.5, x)) },
}

// ditheredMoment is the mean of the k-th powers of the total error at a steady
// input: code j comes out with the chance that the noise lies within half a
// step of j-f, and its error is j-f.
func ditheredMoment(density string, f float64, k int) float64 {
	p, sum := cumulative[density], 0.0
	for j := -2.0; j <= 2; j++ {
		sum += (p(j-f+0.5) - p(j-f-0.5)) * math.Pow(j-f, float64(k))
	}
	return sum
}

// At any steady input the mean error of either density is 0; its power is
// q^2/4 for the triangular and f(1-f) q^2 for the rectangular one.
func TestDitherErrorAtSteadyInput(t *testing.T) {
	n := long.Or(1<<15, 1<<17)
	power := map[string]func(f float64) float64{
		"triangular":  func(float64) float64 { return 0.25 },
		"rectangular": func(f float64) float64 { return f * (1 - f) },
	}
	for density, power := range power {
		for _, f := range []float64{0, 0.1, 0.25, 0.5, 0.9} {
			for _, code := range []float64{0, -3, 12345} {
				e := ditherErrors(ditherTo(bitsHere, density), mono, steady(code+f, n))
				what := fmt.Sprintf("%s at %v", density, code+f)
				m2, m4 := ditheredMoment(density, f, 2), ditheredMoment(density, f, 4)
				within(t, what+", mean", moment(e, 1), 0, math.Sqrt(m2/float64(n)))
				within(t, what+", power", moment(e, 2), power(f), math.Sqrt(max(0, m4-m2*m2)/float64(n)))
			}
		}
	}
}

// Averaged over all inputs the error is the sum of the noise and a rounding
// error as wide as a step: of three, two and one uniform values, k of which
// have the power k q^2/12 and the kurtosis 3 - 6/(5k). Table: that power below
// a full-scale sine, dB (the sine's level counts as 0 dBFS, AES17).
func TestDitherNoiseLevel(t *testing.T) {
	n := long.Or(1<<17, 1<<18)
	for _, c := range []struct {
		bits             int64
		none, rect, tria float64
	}{
		{8, 49.93, 46.92, 45.15}, {16, 98.09, 95.08, 93.32}, {20, 122.17, 119.16, 117.40},
		{24, 146.26, 143.25, 141.48},
	} {
		if c.bits%16 != 8 && !long.Wanted() {
			continue
		}
		for k, density := range []string{"none", "rectangular", "triangular"} {
			scale := math.Ldexp(1, int(c.bits-1))
			in := everywhere(n)
			for i := range in {
				in[i] *= 0.1 / scale
			}
			e := oneChannel(ditherTo(c.bits, density), in...)
			for i := range e {
				e[i] -= in[i]
			}
			got := moment(e, 2)
			what := fmt.Sprintf("%s to %d bits", density, c.bits)
			power := float64(k+1) / 12 / (scale * scale)
			within(t, what, got, power, power*math.Sqrt((2-6/(5*float64(k+1)))/float64(n)))
			snr, want := 10*math.Log10(0.5/got), []float64{c.none, c.rect, c.tria}[k]
			if math.Abs(snr-want) > 0.05 {
				t.Errorf("%s: %.2f dB below a full-scale sine, want %.2f", what, snr, want)
			}
		}
	}
}

// Silence comes out as noise: a code of +-1 for one sample in four, evenly.
func TestDitherOfSilence(t *testing.T) {
	const n = 1 << 17
	count := map[float64]float64{}
	for _, e := range ditherErrors(ditherTo(bitsHere, "triangular"), mono, steady(0, n)) {
		count[e]++
	}
	for code, p := range map[float64]float64{-1: 0.125, 0: 0.75, 1: 0.125} {
		within(t, fmt.Sprintf("share of code %v", code), count[code]/n, p, math.Sqrt(p*(1-p)/n))
	}
	if len(count) != 3 {
		t.Errorf("codes and how often: %v", count)
	}
}

// tone is a sine of the given amplitude in steps, in whole cycles.
func tone(amplitude float64, cycles, n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = amplitude * math.Sin(2*math.Pi*float64(cycles)*float64(i)/float64(n))
	}
	return s
}

// A tone below half a step is lost without dither. With it the tone is there
// and has no harmonics, since the mean error is 0 whatever comes in. What is
// found at one frequency scatters by sqrt(2 power/n); the power is q^2/4 at most.
func TestDitherKeepsToneBelowStep(t *testing.T) {
	const n, cycles = 1 << 17, 997
	for _, c := range []struct {
		density   string
		amplitude float64
		clean     bool
	}{{"triangular", 0.4, true}, {"rectangular", 0.4, true}, {"none", 0.4, false}, {"none", 0.9, false}} {
		in := tone(c.amplitude, cycles, n)
		out := ditherErrors(ditherTo(bitsHere, c.density), mono, in)
		for i := range out {
			out[i] += in[i]
		}
		z := fourier.NewFFT(n).Coefficients(nil, out)
		sigma := math.Sqrt(2 * 0.25 / n)
		at := func(harmonic int) float64 {
			return 2 * math.Hypot(real(z[harmonic*cycles]), imag(z[harmonic*cycles])) / n
		}
		clean := math.Abs(at(1)-c.amplitude) <= 4*sigma
		for h := 2; h <= 15; h++ {
			clean = clean && at(h) <= 4*sigma
		}
		if clean != c.clean {
			t.Errorf("%s, amplitude %v: fundamental %v, third %v, within %v", c.density, c.amplitude, at(1),
				at(3), 4*sigma)
		}
	}
}

// correlation is the correlation of a with b shifted by lag.
func correlation(a, b []float64, lag int) float64 {
	sum, n := 0.0, len(a)-lag
	for i := range n {
		sum += a[i] * b[i+lag]
	}
	return sum / float64(n) / math.Sqrt(moment(a, 2)*moment(b, 2))
}

// The error is white: its samples are independent of one another. Correlations
// of n independent samples scatter by 1/sqrt(n), the mean power of m
// frequencies by 1/sqrt(m).
func TestDitherErrorIsWhite(t *testing.T) {
	const n, bands = 1 << 16, 32
	for name, in := range map[string][]float64{
		"silence": steady(0, n), "a quiet tone": tone(2.3, 1001, n), "a loud one": tone(20000, 997, n),
	} {
		if name == "a loud one" && !long.Wanted() {
			continue
		}
		e := ditherErrors(ditherTo(bitsHere, "triangular"), mono, in)
		for lag := 1; lag <= 40; lag++ {
			within(t, fmt.Sprintf("%s, lag %d", name, lag), correlation(e, e, lag), 0, 1/math.Sqrt(n))
		}
		z := fourier.NewFFT(n).Coefficients(nil, e)
		const m = n / 2 / bands
		for b := range bands {
			power := 0.0
			for _, v := range z[1+b*m : 1+(b+1)*m] {
				power += (real(v)*real(v) + imag(v)*imag(v)) / n / 0.25 / m
			}
			within(t, fmt.Sprintf("%s, band %d of %d", name, b, bands), power, 1, 1/math.Sqrt(m))
		}
	}
}

// Channels, tracks and seeds each have noise of their own.
func TestDitherNoisesAreIndependent(t *testing.T) {
	const n = 1 << 16
	silence := steady(0, n)
	noise := map[string][]float64{}
	for channels := 1; channels <= 6; channels++ { // the last of so many channels
		f := stages.Format{Rate: 44100, Channels: channels, Seed: 3}
		noise[fmt.Sprint("channel ", channels)] = ditherErrors(ditherTo(bitsHere, "triangular"), f, silence)
	}
	for track := uint64(1); track < 3; track++ {
		f := stages.Format{Rate: 44100, Channels: 1, Seed: track}
		noise[fmt.Sprint("track ", track)] = ditherErrors(ditherTo(bitsHere, "triangular"), f, silence)
	}
	for _, seed := range []int64{1, 1 << 53} {
		make := mustBuild("dither", stages.Settings{"bits": int64(bitsHere), "seed": seed})
		noise[fmt.Sprint("seed ", seed)] = ditherErrors(make, mono, silence)
	}
	for a, x := range noise {
		for b, y := range noise {
			if a == b {
				continue
			}
			for _, lag := range []int{0, 1, 2, 10}[:long.Or(1, 4)] {
				within(t, fmt.Sprintf("%s and %s, lag %d", a, b, lag), correlation(x, y, lag), 0, 1/math.Sqrt(n))
			}
		}
	}
}
