package stages_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

// The filters as the papers print them (Lipshitz, Vanderkooy and Wannamaker, "Minimally Audible Noise
// Shaping", JAES 39(11), 1991; Wannamaker, "Psychoacoustically Optimal Noise Shaping", JAES 40(7/8), 1992),
// and the level in dB that they give the noise at 1, 4, 12 and 20 kHz of 44.1, worked out apart from this
// program.
var published = map[string]struct {
	taps, levels []float64
	power        float64 // dB, of all noise
}{
	"weighted_5": {[]float64{2.033, -2.165, 1.959, -1.590, 0.6149}, []float64{-15.9, -27.2, -6.5, 18.7}, 12.19},
	"weighted_9": {
		[]float64{2.412, -3.370, 3.937, -4.174, 3.353, -2.205, 1.281, -0.569, 0.0847},
		[]float64{-13.4, -23.3, -5.8, 25.5}, 18.40,
	},
}

func shapedDither(bits int64, shape string, more ...stages.Settings) stagetest.Maker {
	s := stages.Settings{"bits": bits, "shape": shape}
	for _, m := range more {
		for k, v := range m {
			s[k] = v
		}
	}
	return mustBuild("dither", s)
}

// noiseSpectrum is the mean power of e in so many bins from 0 to half the rate, where white noise of power 1
// has 1.
func noiseSpectrum(e []float64, bins int) []float64 {
	n := 2 * bins
	plan, mean, count := fourier.NewFFT(n), make([]float64, bins), 0
	for at := 0; at+n <= len(e); at += n {
		x := make([]float64, n)
		power := 0.0
		for i := range x {
			w := 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)) // Hann's window
			x[i], power = w*e[at+i], power+w*w
		}
		for k, z := range plan.Coefficients(nil, x)[:bins] {
			mean[k] += (real(z)*real(z) + imag(z)*imag(z)) / power
		}
		count++
	}
	for k := range mean {
		mean[k] /= float64(count)
	}
	return mean
}

// The noise of a shaped dither is a quarter of a code's square times the published filter's response, at
// every frequency, whatever the programme; and its log has the mean 0 over frequency (Gerzon and Craven,
// "Optimal Noise Shaping and Dither of Digital Signals", AES 87th Convention, 1989).
func TestShapedNoiseHasThePublishedSpectrum(t *testing.T) {
	const bins = 256
	spectra := long.Or(1200, 4000)
	quick := map[string]string{"weighted_9": "a tone"} // what goes in in a quick run
	for name, p := range published {
		for what, in := range map[string][]float64{
			"silence": steady(0, 2*bins*spectra), "a tone": tone(1000, 997, 2*bins*spectra),
		} {
			if quick[name] != what && !long.Wanted() {
				continue
			}
			e := ditherErrors(shapedDither(bitsHere, name), mono, in)
			mean, sum := 0.0, 0.0
			for k, got := range noiseSpectrum(e, bins) {
				re, im := 1.0, 0.0
				for m, c := range p.taps {
					w := math.Pi * float64(k) / bins * float64(m+1)
					re, im = re-c*math.Cos(w), im+c*math.Sin(w)
				}
				dB := 10 * math.Log10(got/0.25)
				sum += dB
				if want := 10 * math.Log10(re*re+im*im); k > 1 && math.Abs(dB-want) > 0.5 && got > 1e-4 {
					t.Errorf("%s, %s: %.2f dB in bin %d, want %.2f", name, what, dB, k, want)
				}
			}
			if mean = sum / bins; math.Abs(mean) > 0.1 {
				t.Errorf("%s, %s: the mean of the log of the spectrum is %.3f dB, want 0", name, what, mean)
			}
			if dB := 10 * math.Log10(moment(e, 2)/0.25); math.Abs(dB-p.power) > 0.05 {
				t.Errorf("%s, %s: the noise has %.2f dB, want %.2f", name, what, dB, p.power)
			}
			got := noiseSpectrum(e, 22050)
			for i, hz := range []int{1000, 4000, 12000, 20000} {
				sum := 0.0
				for _, x := range got[hz-100 : hz+101] {
					sum += x
				}
				if dB := 10 * math.Log10(sum/201/0.25); math.Abs(dB-p.levels[i]) > 0.6 {
					t.Errorf("%s, %s: %.1f dB at %d Hz, want %.1f", name, what, dB, hz, p.levels[i])
				}
			}
		}
	}
}

func TestShapedDitherSuite(t *testing.T) {
	for name, p := range published {
		most := 1.0
		for _, c := range p.taps {
			most += math.Abs(c)
		}
		for _, blank := range []bool{false, true} {
			for _, bits := range long.Or([]int64{16}, []int64{8, 16, 24}) {
				t.Run(fmt.Sprint(name, bits, blank), func(t *testing.T) {
					o := stagetest.Options{
						Ceiling: stages.Linear(-1), Holds: true, Within: 1.5 * most * math.Ldexp(1, int(1-bits)),
					}
					stagetest.Suite(t, shapedDither(bits, name, stages.Settings{
						"ceiling_dbfs": -1.0, "blank_silence": blank,
					}), o)
				})
			}
		}
	}
}

// Samples at the ceiling are lifted by noise that is shaped as far as by any; none passes.
func TestShapedNoiseNeverPassesTheCeiling(t *testing.T) {
	ceiling := stages.Linear(-1)
	for name := range published {
		for _, density := range []string{"triangular", "rectangular", "none"} {
			over := 0
			in := make([]float64, 1<<16)
			for i := range in {
				in[i] = math.Copysign(ceiling, float64(i/100%2)-0.5)
			}
			for i, x := range oneChannel(shapedDither(12, name, stages.Settings{"density": density,
				"ceiling_dbfs": -1.0}), in...) {
				if math.Abs(x) > ceiling {
					t.Fatalf("%s, %s: frame %d is %v, and the ceiling %v", name, density, i, x, ceiling)
				}
			}
			for _, x := range oneChannel(shapedDither(12, name, stages.Settings{"density": density}), in...) {
				if math.Abs(x) > ceiling {
					over++
				}
			}
			if over == 0 && density == "triangular" {
				t.Errorf("%s: nothing passes without a ceiling either", name)
			}
		}
	}
}

// Without blank_silence digital silence becomes noise, and with it stays what it is; programme after it is
// dithered again.
func TestBlankSilence(t *testing.T) {
	for _, shape := range []string{"none", "weighted_5", "weighted_9"} {
		in := slicesOf(3000, 0, 3000, 0.1, 3000, 0)
		noisy := oneChannel(shapedDither(16, shape), in...)
		blank := oneChannel(shapedDither(16, shape, stages.Settings{"blank_silence": true}), in...)
		for i, x := range blank {
			silent := i < 3000 || i >= 6000+32
			if silent && !equalBits(x, 0) {
				t.Fatalf("%s: frame %d of silence is %v", shape, i, x)
			}
		}
		if count(noisy[:3000]) == 0 || count(noisy[6000:]) == 0 {
			t.Errorf("%s: without blank_silence it is silent too", shape)
		}
		same := 0
		for _, x := range blank[3000:6000] {
			if x == blank[3000] {
				same++
			}
		}
		if same > 2900 {
			t.Errorf("%s: the programme has no noise", shape)
		}
	}
}

// slicesOf is so many samples of a value, and so on.
func slicesOf(pairs ...float64) (x []float64) {
	for i := 0; i < len(pairs); i += 2 {
		x = append(x, steady(pairs[i+1], int(pairs[i]))...)
	}
	return x
}

// count is how many samples are not zero.
func count(x []float64) (n int) {
	for _, v := range x {
		if v != 0 {
			n++
		}
	}
	return n
}

func TestShapedDitherIsRefusedAtOtherRates(t *testing.T) {
	for _, rate := range []int{44100, 48000, 88200, 96000, 8000} {
		s := stages.Settings{"bits": int64(16), "shape": "weighted_9"}
		kind, _ := stages.KindNamed("dither")
		kind.Fill(s)
		_, err := stages.Build("dither", stages.Format{Rate: rate, Channels: 1}, s)
		if known := rate == 44100 || rate == 48000; (err == nil) != known ||
			!known &&
				!strings.Contains(err.Error(),
					fmt.Sprintf(`shape = "weighted_9" is a filter for 44100 and 48000 Hz, and here are %d Hz`, rate)) {
			t.Errorf("%d Hz: %v", rate, err)
		}
	}
}
