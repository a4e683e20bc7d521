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

// A tone of an odd number of cycles in gridFrames, a power of two: no alias up to half the rate falls on one
// of its harmonics. It is rendered gridLead frames longer at either end, which are left out.
const (
	gridFrames = 1 << 15
	gridLead   = 3200
	gridTones  = 150
	gridKept   = 100 // dB of SNR, at least
)

var gridDrives = []float64{0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6} // dB over the ceiling

// Tones from 100 Hz to 16 kHz, off every grid, each as loud as to pass the ceiling by half a dB to six, alone
// and after a clip of factor 8: next to nothing aliases, nothing passes the ceiling and nothing is left for
// the clamp. A quick run takes every 397th of them.
func TestCeilingHoldAliasingOfAnyTone(t *testing.T) {
	step := long.Or(397, 1)
	for i := 0; i < gridTones*len(gridDrives); i += step {
		hz := 100 * math.Pow(160, (float64(i/len(gridDrives))+0.5)/gridTones)
		cycles := 2*int(hz*gridFrames/aliasRate/2) + 1
		drive := gridDrives[i%len(gridDrives)]
		t.Run(fmt.Sprintf("%d cycles %+v dB", cycles, drive), func(t *testing.T) {
			t.Parallel()
			for _, clip := range []int64{0, 8} {
				wantHeldTone(t, cycles, drive, clip)
			}
		})
	}
}

func wantHeldTone(t *testing.T, cycles int, drive float64, clip int64) {
	x := make([]float64, gridFrames+2*gridLead)
	for n := range x {
		turn := float64(n*cycles%gridFrames) / gridFrames
		x[n] = gridFade(n) * stages.Linear(drive-1) * math.Sin(2*math.Pi*turn+0.3)
	}
	if clip > 0 {
		x = oneChannel(oversampledClipAt(-1, clip), x...)
	}
	s := ceilingHoldAt(-1, "true", "band_limited")(stages.Format{Rate: aliasRate, Channels: 1})
	x = stagetest.Render(s, stages.Block{x})[0][gridLead:][:gridFrames]
	if over := stages.DB(samplePeak(x)) + 1; over > 0 || s.Effect().Clamped > 0 {
		t.Errorf("clip %d: %+.4f dB over, %d clamped", clip, over, s.Effect().Clamped)
	}
	if snr := gridSNR(x, cycles); snr < gridKept {
		t.Errorf("clip %d: SNR %.1f dB, want %v", clip, snr, gridKept)
	}
}

// gridFade is a tone's rise from its first frame and its fall to its last: one that starts at once has all
// frequencies there, up to half the rate, and is held in whole hops of 8192 frames for it.
func gridFade(n int) float64 {
	const frames = 2400.0
	d := min(float64(min(n, gridFrames+2*gridLead-1-n))/frames, 1)
	return 0.5 - 0.5*math.Cos(math.Pi*d)
}

// gridSNR is the power in the harmonics up to 20 kHz over that in all other bins up to there, dB.
func gridSNR(x []float64, cycles int) float64 {
	signal, rest := 0.0, 0.0
	for k, c := range fourier.NewFFT(len(x)).Coefficients(nil, x)[:20000*gridFrames/aliasRate+1] {
		if k > 0 && k%cycles == 0 {
			signal += power(c)
		} else {
			rest += power(c)
		}
	}
	return 10 * math.Log10(signal/rest)
}
