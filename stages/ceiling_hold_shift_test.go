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

// Tones held once as they are and once 0.37 frames later: what is left of their difference, once that delay
// is taken back by the Fourier transform, depends on where samples lie, which is aliasing. That needs no list
// of which products belong to the tones.
func TestCeilingHoldWhereverSamplesLie(t *testing.T) {
	// of the rate, next to it: each phase comes up
	third, fourth, sixth, eighth, twelfth := 10923, 8193, 5461, 4097, 2731
	for i, c := range []struct {
		rate, clip int64
		drive      float64 // dB over the ceiling
		kept       float64
		cycles     []int // in gridFrames
	}{
		{44100, 0, 3, 100, []int{third}},
		{44100, 8, 6, 100, []int{fourth}},
		{44100, 0, 6, 100, []int{sixth}},
		{44100, 0, 2, 100, []int{eighth}},
		{44100, 8, 1, 100, []int{twelfth}},
		{44100, 0, 4.5, 100, []int{3717, 5209}}, // 5003 and 7011 Hz
		{44100, 8, 3, 90, []int{3717, 5209}},    // 92.3 dB is reached
		{44100, 0, 3, 100, []int{741, 1113}},    // 997 and 1498 Hz
		{44100, 8, 6, 95, []int{2229, 6689}},    // 3000 and 9002 Hz: 97.8
		{44100, 0, 6, 100, []int{5203, 5501}},   // 7002 and 7403 Hz
		{48000, 0, 2.5, 100, []int{4689}},
		{96000, 8, 5, 100, []int{43}},
	} {
		if i%12 != 1 && !long.Wanted() {
			continue
		}
		t.Run(fmt.Sprint(c.rate, " Hz, clip ", c.clip, ", ", c.drive, " dB, ", c.cycles,
			" cycles"), func(t *testing.T) {
			t.Parallel()
			f := stages.Format{Rate: int(c.rate), Channels: 1}
			if snr := shiftSNR(f, c.clip, c.drive, c.cycles); snr < c.kept {
				t.Errorf("SNR %.1f dB, want %v", snr, c.kept)
			}
		})
	}
}

// Any two tones: the pairs above were chosen because they are hard.
func TestCeilingHoldWhereverSamplesOfTwoTonesLie(t *testing.T) {
	long.Only(t, "TestCeilingHoldWhereverSamplesLie has pairs that are hard")
	random := rand.New(rand.NewPCG(7, 9))
	tone := func() int { return 2*(300+random.IntN(3000)) + 1 }
	for range long.Or(2, 36) {
		cycles := []int{tone(), tone()}
		drive, clip := 1+float64(5*random.Float64()), int64(8*random.IntN(2))
		t.Run(fmt.Sprintf("%v cycles, clip %d, %.2f dB", cycles, clip, drive), func(t *testing.T) {
			t.Parallel()
			f := stages.Format{Rate: 44100, Channels: 1}
			if snr := shiftSNR(f, clip, drive, cycles); snr < 100 {
				t.Errorf("SNR %.1f dB, want 100", snr)
			}
		})
	}
}

// shiftSNR is the power of held tones over half that of what depends on where samples lie, dB.
func shiftSNR(f stages.Format, clip int64, drive float64, cycles []int) float64 {
	a := heldTones(f, clip, drive, 0, cycles)
	b := heldTones(f, clip, drive, gridShift, cycles)
	signal, rest := 0.0, 0.0
	for k := range a[:20000*gridFrames/44100+1] {
		turn := 2 * math.Pi * float64(k) * gridShift / gridFrames
		signal += power(a[k])
		rest += power(b[k]-a[k]*complex(math.Cos(turn), math.Sin(turn))) / 2
	}
	return 10 * math.Log10(signal/rest)
}

const gridShift = 0.37 // frames

// heldTones is the spectrum of equally loud tones, later by a part of a frame, after a clip and the hold.
func heldTones(f stages.Format, clip int64, drive, shift float64, cycles []int) []complex128 {
	x := make([]float64, gridFrames+2*gridLead)
	for n := range x {
		for i, c := range cycles {
			turn := (float64(n*c%gridFrames) + shift*float64(c)) / gridFrames
			x[n] += gridFade(n) * stages.Linear(drive-1) / float64(len(cycles)) * math.Sin(2*math.Pi*turn+0.3+
				float64(i))
		}
	}
	in := stages.Block{x}
	if clip > 0 {
		in = stagetest.Render(oversampledClipAt(-1, clip)(f), in)
	}
	x = stagetest.Render(ceilingHoldAt(-1, "true", "band_limited")(f), in)[0]
	return fourier.NewFFT(gridFrames).Coefficients(nil, x[gridLead:][:gridFrames])
}
