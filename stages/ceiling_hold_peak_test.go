package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

// Held, the true peak stays within 0.02 dB of the ceiling, measured at 32 times the
// rate by the spectrum of the whole signal, on signals within the band of the
// filters; with a clip in front and without.
func TestCeilingHoldHoldsTruePeaks(t *testing.T) {
	const db = -1
	signals := []struct {
		name string
		make func() []float64
	}{
		{"noise to 8 kHz", func() []float64 { return noiseBursts(8000, 1) }},
		{"noise to 20.9 kHz", func() []float64 { return noiseBursts(20900, 3) }},
		{"percussion", percussion},
		{"breakwater", func() []float64 { return mix(t, "02 breakwater", 1) }},
		{"noise to 19 kHz", func() []float64 { return noiseBursts(19000, 1) }},
		{"noise to 20 kHz", func() []float64 { return noiseBursts(20000, 2) }},
		{"quay", func() []float64 { return mix(t, "01 quay", 0) }},
		{"lantern", func() []float64 { return mix(t, "03 lantern", 0) }},
	}
	for i, signal := range long.Or(signals[2:4], signals) {
		for _, drive := range []float64{4, 12} {
			for _, clip := range []bool{false, true} {
				if !long.Wanted() && (clip != (drive == 4) || clip != (i%2 == 0)) {
					continue
				}
				t.Run(fmt.Sprint(signal.name, " +", drive, " dB clip ", clip), func(t *testing.T) {
					t.Parallel()
					x := driven(signal.make(), db+drive)
					if clip {
						x = oneChannel(oversampledClipAt(db, 4), x...)
						if over := stages.DB(truePeak(x)) - db; over < 0.2 {
							t.Errorf("a clip alone passes by %+.4f dB only: nothing to hold", over)
						}
					}
					x = oneChannel(ceilingHoldAt(db, "true", "band_limited"), x...)
					over, trueOver := stages.DB(samplePeak(x))-db, stages.DB(truePeak(x))-db
					t.Logf("sample %+.4f dB, true %+.4f dB", over, trueOver)
					if over > 0 || trueOver > 0.02 {
						t.Errorf("sample %+.4f dB, true %+.4f dB over", over, trueOver)
					}
				})
			}
		}
	}
}

// The example release, whole, as its release file drives it: 5 dB into a clip and a hold at -1 dBFS.
func TestCeilingHoldHoldsTheExampleRelease(t *testing.T) {
	long.Only(t, "holds whole mixes; TestCeilingHoldHoldsTruePeaks has parts of them")
	const db = -1
	all := []string{"02 breakwater", "01 quay", "03 lantern"}
	for _, name := range all {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for channel, x := range wholeMix(t, name) {
				for n := range x {
					x[n] *= stages.Linear(5)
				}
				x = oneChannel(oversampledClipAt(db, 8), x...)
				x = oneChannel(ceilingHoldAt(db, "true", "band_limited"), x...)
				// Silence keeps what lies at both ends apart; lengths of small factors are transformed fast.
				x = append(x, make([]float64, 22050-len(x)%22050)...)
				if over, trueOver := stages.DB(samplePeak(x))-db, stages.DB(truePeak(x))-db; over > 0 || trueOver > 0.02 {
					t.Errorf("channel %d: sample %+.4f dB, true %+.4f dB over", channel, over, trueOver)
				}
			}
		})
	}
}

// A peak with a shoulder, on which the curve turns twice between two values, is a peak
// as any other: nothing is left for the clamp.
func TestCeilingHoldLeavesNothingForTheClamp(t *testing.T) {
	for _, hz := range []float64{8000, 19000, 20000} {
		t.Run(fmt.Sprint("noise to ", hz, " Hz"), func(t *testing.T) {
			t.Parallel()
			for seed := range long.Or[uint64](1, 10) {
				s := ceilingHoldAt(-1, "true", "band_limited")(stages.Format{Rate: 44100, Channels: 1})
				stagetest.Render(s, stages.Block{driven(noiseBursts(hz, seed), 11)})
				if n := s.Effect().Clamped; n > 0 {
					t.Errorf("seed %d: %d samples clamped", seed, n)
				}
			}
		})
	}
}
