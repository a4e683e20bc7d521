package stages_test

import (
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

// converted is what a converter of rates leaves of x: all up to 20.1/44.1 of the rate, and less and less, by
// a raised cosine, up to half the rate.
func converted(x []float64) []float64 {
	fft := fourier.NewFFT(len(x))
	c := fft.Coefficients(nil, x)
	for k := range c {
		g := 1.0
		if f := float64(k) / float64(len(x)); f > 20.1/44.1 {
			g = 0.5 + 0.5*math.Cos(math.Pi*(f-20.1/44.1)/(0.5-20.1/44.1))
		}
		c[k] *= complex(g/float64(len(x)), 0)
	}
	return fft.Sequence(nil, c)
}

// wholeSignals have energy right up to half the rate, or close below.
func wholeSignals(t *testing.T) map[string][]float64 {
	n := long.Or(12000, 40000)
	random := rand.New(rand.NewPCG(20, 26))
	white, signs := make([]float64, n), make([]float64, n)
	for i := range white {
		white[i], signs[i] = 0.4*random.NormFloat64(), math.Copysign(1, random.Float64()-0.5)
	}
	all := map[string][]float64{}
	for _, name := range long.Or([]string{"02 breakwater"}, []string{"01 quay", "02 breakwater", "03 lantern"}) {
		all[name+" clipped"] = oneChannel(hardClipAt(-1), driven(mix(t, name, 0)[:long.Or(1<<14, 1<<15)], 8)...)
	}
	tones := []float64{}
	if long.Wanted() {
		all["white noise"], all["random signs"] = white, signs
		tones = append(tones, 7350.5, 21000, 7360.5, 7351.5, 9956, 1244.5, 14000, 20500, 20800, 21300, 21500, 21900)
	}
	for _, hz := range tones {
		all[fmt.Sprint(hz, " Hz clipped")] = oneChannel(hardClipAt(-1), sine(hz, 0.3, stages.Linear(5), n)...)
		if long.Wanted() {
			all[fmt.Sprint(hz, " Hz")] = sine(hz, 0.3, stages.Linear(5), n)
		}
	}
	return all
}

// The true peak is held right up to half the rate, also of what has been clipped at the track's rate, and at
// the track's ends: as the Fourier transform of the whole track has it, and after a converter of rates.
func TestCeilingHoldHoldsTheWholeBand(t *testing.T) {
	const db = -1
	for name, x := range wholeSignals(t) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := ceilingHoldAt(db, "true", "band_limited")(stages.Format{Rate: 44100, Channels: 1})
			y := make([]float64, 1<<bits.Len(uint(len(x)+2*4096)))
			copy(y[4096:], stagetest.Render(s, stages.Block{x})[0])
			whole, low := stages.DB(truePeak(y))-db, stages.DB(truePeak(converted(y)))-db
			t.Logf("whole %+.4f dB, low-passed %+.4f dB", whole, low)
			if whole > 0.02 || low > 0.02 || s.Effect().Clamped > 0 {
				t.Errorf("whole %+.4f dB, low-passed %+.4f dB over, %d clamped", whole, low, s.Effect().Clamped)
			}
		})
	}
}
