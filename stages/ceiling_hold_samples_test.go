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

// Of loud tones up to close below half the rate next to nothing is left for the clamp where samples are held,
// as they start at once and as they fade in: pulses take only 0.24 of a tone of 20 kHz, so that the holder's
// passes leave many of its samples over.
func TestCeilingHoldOfSamplesClampsNoTone(t *testing.T) {
	long.Only(t, "TestCeilingHoldOfSamplesMakesNothingOfHighTones holds tones by their samples")
	const db, frames = -1, 24000
	for hz := 15000.0; hz <= 21500; hz += long.Or(3250.0, 250.0) {
		t.Run(fmt.Sprint(hz, " Hz"), func(t *testing.T) {
			t.Parallel()
			for _, drive := range long.Or([]float64{6}, []float64{1, 3, 6, 12}) {
				for _, x := range [][]float64{
					sine(hz, 0.3, stages.Linear(drive+db), frames), faded(sine(hz, 0.3, stages.Linear(drive+db), frames)),
				} {
					s := ceilingHoldAt(db, "sample", "band_limited")(stages.Format{Rate: 44100, Channels: 1})
					out := stagetest.Render(s, stages.Block{x})[0]
					if over := stages.DB(samplePeak(out)) - db; over > 0 || s.Effect().Clamped > 0 {
						t.Errorf("%v dB over: %+.4f dB over, %d of %d clamped", drive, over, s.Effect().Clamped, frames)
					}
					if under := stages.DB(samplePeak(out[4000:20000])) - db; under < -7 {
						t.Errorf("%v dB over: nothing passes %+.2f dB", drive, under)
					}
				}
			}
		})
	}
}

// Of what is close below half the rate, so much is taken away that samples keep the ceiling, and nothing is
// made of it: pulses at samples alone leave 9 dB. What is kept is what was measured when it was made, less 4
// dB or more.
func TestCeilingHoldOfSamplesMakesNothingOfHighTones(t *testing.T) {
	for hz, kept := range map[float64]float64{20600: 65, 21000: 95, 21300: 95} {
		if hz != 20600 && !long.Wanted() {
			continue
		}
		cycles := 2*int(hz*gridFrames/aliasRate/2) + 1
		x := make([]float64, gridFrames+2*gridLead)
		for n := range x {
			x[n] = gridFade(n) * stages.Linear(5) * math.Sin(2*math.Pi*float64(n*cycles%gridFrames)/gridFrames+0.3)
		}
		y := oneChannel(ceilingHoldAt(-1, "sample", "band_limited"), x...)[gridLead:][:gridFrames]
		tone, rest := 0.0, 0.0
		for k, c := range fourier.NewFFT(len(y)).Coefficients(nil, y) {
			if k == cycles {
				tone = power(c)
			} else {
				rest += power(c)
			}
		}
		if snr := 10 * math.Log10(tone/rest); snr < kept {
			t.Errorf("%v Hz: the tone is %.1f dB over all else, kept %v", hz, snr, kept)
		}
	}
}
