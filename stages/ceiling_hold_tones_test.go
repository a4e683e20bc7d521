package stages_test

import (
	"fmt"
	"math"
	"math/rand/v2"
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
// the clamp. A quick run takes every 797th of them.
func TestCeilingHoldAliasingOfAnyTone(t *testing.T) {
	step := long.Or(797, 1)
	for i := 0; i < gridTones*len(gridDrives); i += step {
		hz := 100 * math.Pow(160, (float64(i/len(gridDrives))+0.5)/gridTones)
		cycles := 2*int(hz*gridFrames/aliasRate/2) + 1
		drive := gridDrives[i%len(gridDrives)]
		t.Run(fmt.Sprintf("%d cycles %+v dB", cycles, drive), func(t *testing.T) {
			t.Parallel()
			wantHeldTone(t, cycles, drive, 0, 0.3, 0, gridKept)
			wantHeldTone(t, cycles, drive, 8, 0.3, inARender, gridKept)
		})
	}
}

// The same of any tones at all, between those.
func TestCeilingHoldAliasingBetweenTones(t *testing.T) {
	long.Only(t, "TestCeilingHoldAliasingOfAnyTone has tones of a grid")
	random := rand.New(rand.NewPCG(11, 7))
	for range long.Or(4, 500) {
		hz := 100 * math.Pow(160, random.Float64())
		cycles := 2*int(hz*gridFrames/aliasRate/2) + 1
		drive, clip, phase := 0.5+5.5*random.Float64(), int64(8*random.IntN(2)), 2*math.Pi*random.Float64()
		lowerDB := inARender * float64(random.IntN(2))
		t.Run(fmt.Sprintf("%d cycles from %.3f %+.3f dB", cycles, phase, drive), func(t *testing.T) {
			t.Parallel()
			wantHeldTone(t, cycles, drive, clip, phase, lowerDB, gridKept)
		})
	}
}

// Tones that lost 2 to 42 dB of that to one fault each. A quick run has one of each kind of fault.
func TestCeilingHoldAliasingOfHardTones(t *testing.T) {
	for _, c := range []struct {
		name         string
		cycles       int
		drive, phase float64
		clip         int64
		lowerDB      float64
		quick        bool
		kept         float64 // dB of SNR, if more than gridKept
	}{
		{"a series leads to no peak by chance", 3305, 3.061, 5.390, 0, 0, true, 0},
		{"the same after a clip", 3433, 3.073, 0.658, 8, 0, false, 0},
		{"a peak on a shoulder lies between the values", 1483, 1.945, 0.015, 0, 0, true, 0},
		{"one of two humps is hidden in the whole band", 5137, 5.499, 0.745, 0, 0, false, 0},
		{"and nearer to the ceiling", 5055, 3.291, 0.324, 0, 0, false, 0},
		{"and with a harmonic at 20.4 kHz", 5051, 3, 0.3, 0, 0, false, 0},
		{"and at 7 kHz", 5235, 2.435, 3.213, 0, 0, true, 0},
		{"what a converter leaves is just over in some hops", 3073, 4.997, 0.826, 0, 0, true, 0},
		{"a climb to a hidden hump ends between two", 5095, 3.938, 0.3, 0, 0, true, 0},
		{"and on the side of one", 5111, 4.495, 0.3, 8, 0, false, 0},
		{"two humps lie between values that hardly bend", 5163, 5.892, 0.3, 0, 0, true, 120},
		{"hops meet", 5151, 4.900, 0.634, 0, 0, false, 0},
		{"hops meet after a clip", 5189, 5.926, 0.971, 8, 0, true, 0},
		{"hops meet where what a converter leaves is over", 5129, 5.516, 0.3, 0, 0, false, 0},
		{"the image of a harmonic at 21.3 kHz", 5283, 6, 0.3, 0, 0, false, 0},
		{"the ripple of a flat top grazes the aim", 351, 4.4507, 4.2247, 8, inARender, true, 0},
	} {
		if !c.quick && !long.Wanted() {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			wantHeldTone(t, c.cycles, c.drive, c.clip, c.phase, c.lowerDB, max(c.kept, gridKept))
		})
	}
}

// inARender is how much lower than its ceiling, dB, a hold aims in a render: after a clip at the same ceiling
// it has flat tops to hold that are hardly over.
const inARender = 0.003

func wantHeldTone(t *testing.T, cycles int, drive float64, clip int64, phase, lowerDB, kept float64) {
	x := make([]float64, gridFrames+2*gridLead)
	for n := range x {
		turn := float64(n*cycles%gridFrames) / gridFrames
		x[n] = gridFade(n) * stages.Linear(drive-1) * math.Sin(2*math.Pi*turn+phase)
	}
	if clip > 0 {
		x = oneChannel(oversampledClipAt(-1, clip), x...)
	}
	s := ceilingHoldAt(-1, "true", "band_limited")(stages.Format{
		Rate: aliasRate, Channels: 1, AimLowerDB: lowerDB,
	})
	x = stagetest.Render(s, stages.Block{x})[0][gridLead:][:gridFrames]
	if over := stages.DB(samplePeak(x)) + 1; over > 0 || s.Effect().Clamped > 0 {
		t.Errorf("clip %d: %+.4f dB over, %d clamped", clip, over, s.Effect().Clamped)
	}
	if snr := gridSNR(x, cycles); snr < kept {
		t.Errorf("clip %d: SNR %.1f dB, want %v", clip, snr, kept)
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
