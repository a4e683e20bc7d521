package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

// Of loud tones up to close below half the rate next to nothing is left for the clamp where samples are held, as they start at once
// and as they fade in: pulses take 0.24 of a tone of 20 kHz only, and eight passes of the holder leave a third of its samples over.
func TestCeilingHoldOfSamplesClampsNoTone(t *testing.T) {
	const db, frames = -1, 24000
	for hz := 15000.0; hz <= 21500; hz += long.Or(1300.0, 250.0) {
		t.Run(fmt.Sprint(hz, " Hz"), func(t *testing.T) {
			t.Parallel()
			for _, drive := range long.Or([]float64{6}, []float64{1, 3, 6, 12}) {
				for _, x := range [][]float64{sine(hz, 0.3, stages.Linear(drive+db), frames), faded(sine(hz, 0.3, stages.Linear(drive+db), frames))} {
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
