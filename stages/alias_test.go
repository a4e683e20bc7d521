package stages_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"ledgerline/stages"
)

const (
	aliasRate   = 44100
	aliasFrames = 2 * aliasRate // whole cycles of all three tones
)

var aliasTones = []float64{1244.5, 4978, 9956}

// renderSine renders a unit sine through the stages and returns a stretch of
// aliasFrames from its middle, far from both ends.
func renderSine(t *testing.T, hz, phase float64, chain ...stages.Stage) []float64 {
	t.Helper()
	const around = 4410
	in := stages.NewBlock(1, aliasFrames+2*around)
	for n := range in[0] {
		in[0][n] = math.Sin(2*math.Pi*math.Mod(hz*float64(n)/aliasRate, 1) + phase)
	}
	for _, s := range chain {
		out := s.Process(stages.NewBlock(1, 0), in)
		in = s.Flush(out)
	}
	return in[0][around : around+aliasFrames]
}

// aliasSNR is the power in the true harmonics up to 20 kHz over that in every
// other bin up to 20 kHz, dB.
func aliasSNR(x []float64, hz float64) float64 {
	c := fourier.NewFFT(len(x)).Coefficients(nil, x)
	per := float64(aliasRate) / float64(len(x))
	step := int(math.Round(hz / per))
	signal, noise := 0.0, 0.0
	for k, v := range c {
		if float64(k)*per > 20000 {
			break
		}
		p := real(v)*real(v) + imag(v)*imag(v)
		if k > 0 && k%step == 0 {
			signal += p
		} else {
			noise += p
		}
	}
	return 10 * math.Log10(signal/noise)
}

// idealDistance is the distance, dB relative to the signal, of x to the exactly
// band-limited clip of a unit sine at half its amplitude, up to 20 kHz: the closed-form Fourier series.
func idealDistance(x []float64, hz, phase float64) float64 {
	c := fourier.NewFFT(len(x)).Coefficients(nil, x)
	per := float64(aliasRate) / float64(len(x))
	step := int(math.Round(hz / per))
	phi := math.Asin(0.5)
	signal, noise := 0.0, 0.0
	around := 4410.0
	for k, v := range c {
		if float64(k)*per > 20000 {
			break
		}
		re, im := real(v)*2/float64(len(x)), imag(v)*2/float64(len(x))
		if n := k / step; k > 0 && k%step == 0 && n%2 == 1 {
			b := 2 / math.Pi * (phi + 0.5*math.Sqrt(0.75))
			if n > 1 {
				m := float64(n)
				b = 2 / (math.Pi * m) * (math.Sin((m-1)*phi)/(m-1) + math.Sin((m+1)*phi)/(m+1))
			}
			// b sin(n(wt+phase)), with t counted from the stretch's first frame
			ph := float64(n) * (phase + 2*math.Pi*math.Mod(hz*around/aliasRate, 1))
			re -= b * math.Sin(ph)
			im += b * math.Cos(ph)
			signal += b * b
		}
		noise += re*re + im*im
	}
	return 10 * math.Log10(noise/signal)
}

func stageOf(t testing.TB, kind string, s stages.Settings) stages.Stage {
	t.Helper()
	k, _ := stages.KindNamed(kind)
	k.Fill(s)
	st, err := stages.Build(kind, stages.Format{Rate: aliasRate, Channels: 1}, s)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

func TestTry(t *testing.T) {
	for _, factor := range []int64{2, 4, 8, 16} {
		for _, hz := range aliasTones {
			snr, dist, over := 0.0, 0.0, 0.0
			for _, ph := range []float64{0.1, 1.1, 2.3} {
				x := renderSine(t, hz, ph, stageOf(t, "oversampled_clip", stages.Settings{"ceiling_dbfs": stages.DB(0.5), "factor": factor}))
				snr += aliasSNR(x, hz) / 3
				dist += idealDistance(x, hz, ph) / 3
				for _, v := range x {
					over = max(over, math.Abs(v))
				}
			}
			t.Logf("factor %d %7.1f Hz: alias SNR %.1f dist %.1f over %+.2f", factor, hz, snr, dist, stages.DB(over/0.5))
		}
	}
}
