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

func oversampledClipAt(db float64, factor int64) stagetest.Maker {
	return mustBuild("oversampled_clip", stages.Settings{"ceiling_dbfs": db, "factor": factor})
}

var factors = []int64{2, 4, 8, 16}

const (
	// A clip works on a tile of 64 frames when it has eight more, and hands on the third before it.
	clipHoldBack = (1+8+3)*64 - 1
	// The way up to an excess reaches 105 frames, the residual of a corner 8
	// samples, and the way back 112 frames.
	clipReach = 105 + 8 + 112
)

func TestOversampledClipSuite(t *testing.T) {
	for _, factor := range long.Or([]int64{2, 8}, factors) {
		t.Run(fmt.Sprint("factor ", factor), func(t *testing.T) {
			stagetest.Suite(t, oversampledClipAt(-6, factor), stagetest.Options{
				HoldBack: clipHoldBack, Reach: clipReach, Ceiling: stages.Linear(-6), Books: true,
			})
		})
	}
}

// A hair's breadth of the ceiling must make next to nothing of the outcome, also
// where samples lie at the ceiling to the bit, as they do in a mix that was clipped
// at the track's rate before. There a corner moves from one interval to the next,
// whose local polynomial is another, and the less alike the closer the factor
// brings these signals, which fill all of their band, to half its rate.
func TestOversampledClipDependsSmoothlyOnItsCeiling(t *testing.T) {
	long.Only(t, "TestOversampledClipAgainstPlainClipAtAHundredTimesTheRate has what it clips")
	const hair = 1e-12
	limits := map[int64]float64{2: 2e-3, 4: 2e-5, 8: 2e-7, 16: 5e-9}
	frames := long.Or(4000, 10000)
	for _, factor := range factors {
		for name, in := range map[string][]float64{
			"a sine":               sine(1404, 0.3, 1, frames),
			"a sine clipped there": clipped(sine(1404, 0.3, 1, frames), 0.5),
			"noise":                smoothNoise(frames),
			"noise clipped there":  clipped(smoothNoise(frames), 0.5),
			"steps to the ceiling": steps(0.5, frames),
		} {
			a := oneChannel(oversampledClipAt(stages.DB(0.5), factor), in...)
			b := oneChannel(oversampledClipAt(stages.DB(0.5*(1-hair)), factor), in...)
			for i := range a {
				if d := math.Abs(a[i] - b[i]); !(d < limits[factor]) {
					t.Errorf("factor %d, %s: frame %d is off by %v", factor, name, i, d)
					break
				}
			}
		}
	}
}

// What stays within the ceiling between its samples too passes to the bit. A tone's
// true peak is its amplitude, but for what its fades add; that of anything else is sought
// at 32 times the rate, where it may be missed by 0.01 dB.
func TestOversampledClipLeavesAloneWhatIsWithin(t *testing.T) {
	within := map[string][]float64{"noise": noiseBursts(20000, 5), "percussion": percussion()}
	for _, in := range within {
		gain := 0.5 * stages.Linear(-0.011) / truePeak(in)
		for n := range in {
			in[n] *= gain
		}
	}
	for _, factor := range long.Or([]int64{4, 16}, factors) {
		for _, hz := range []float64{20, 997, 5512.5, 11025, 14700, 19999, 20500} {
			in := faded(sine(hz, 0.4, 0.5*(1-1e-4), long.Or(6000, 12000)))
			wantUntouched(t, fmt.Sprintf("factor %d, %v Hz", factor, hz), in,
				oversampledClipAt(stages.DB(0.5), factor))
		}
		for name, in := range within {
			wantUntouched(t, fmt.Sprintf("factor %d, %s", factor, name), in, oversampledClipAt(stages.DB(0.5), factor))
		}
	}
}

// And what passes the ceiling between its samples only is clipped.
func TestOversampledClipFindsWhatIsOverBetweenSamples(t *testing.T) {
	for _, factor := range factors {
		// The samples of this tone all have the magnitude of its amplitude times sqrt(1/2).
		in := faded(sine(11025, math.Pi/4, 0.6, 12000))
		if peak := samplePeak(in); peak > 0.43 {
			t.Fatalf("a sample of %v", peak)
		}
		s := oversampledClipAt(stages.DB(0.5), factor)(stages.Format{Rate: 44100, Channels: 1})
		out := stagetest.Render(s, stages.Block{in})[0]
		// b1 of the clipped sine, by the closed form; the next harmonic lies beyond the band.
		if want, got := 0.6*clippedSine(0.5/0.6, 1), truePeak(out[4000:8000]); math.Abs(got-want) > 1e-4 {
			t.Errorf("factor %d: an amplitude of %.6f, want %.6f", factor, got, want)
		}
		if s.Effect().Touched == 0 || s.Effect().Cut != 0 {
			t.Errorf("factor %d: effect %+v, though no sample came in over", factor, s.Effect())
		}
	}
}

// A clip at times the rate, with ideal filters, of a signal that is silent at both
// ends: the plainest way to the band-limited clip, exact but for what aliases there.
func plainClip(x []float64, ceiling float64, times int) []complex128 {
	fine := fourier.NewFFT(len(x) * times)
	c := make([]complex128, len(x)*times/2+1)
	copy(c, fourier.NewFFT(len(x)).Coefficients(nil, x))
	y := fine.Sequence(nil, c)
	for n := range y {
		y[n] = max(-ceiling, min(ceiling, y[n]/float64(len(x))))
	}
	return fine.Coefficients(c, y)
}

// On noise and percussion, where corners come in every manner, lie close together
// and graze, the clip is the ideal one up to 20 kHz.
func TestOversampledClipAgainstPlainClipAtAHundredTimesTheRate(t *testing.T) {
	const frames, times = 8192, 128
	cases := []struct {
		name   string
		in     []float64
		limits [4]float64 // of the factors, dB; the last two are the aliasing of the plain clip
	}{
		{"percussion", driven(faded(percussion()[2000:][:frames]), 12), [4]float64{-78, -108, -108, -108}},
		{"noise to 16 kHz", driven(faded(noiseBursts(16000, 2)[:frames]), 4), [4]float64{-93, -122, -124, -124}},
		{"noise to 2 kHz", driven(faded(noiseBursts(2000, 2)[:frames]), 10), [4]float64{-133, -133, -133, -133}},
	}
	for _, c := range cases[:long.Or(1, 3)] {
		want := plainClip(c.in, 1, times)
		for i, factor := range factors {
			got := fourier.NewFFT(frames).Coefficients(nil, oneChannel(oversampledClipAt(0, factor), c.in...))
			signal, rest := 0.0, 0.0
			for k := range frames * 20000 / 44100 {
				signal += power(want[k] / times)
				rest += power(got[k] - want[k]/times)
			}
			distance := 10 * math.Log10(rest/signal)
			if distance > c.limits[i] {
				t.Errorf("%s, factor %d: distance %.1f dB, want %v", c.name, factor, distance, c.limits[i])
			}
		}
	}
}

// A clip knows no polarity, no level but the ceiling and no time, and its filters
// have linear phase: turned over, scaled, moved or played backwards, a signal comes out likewise.
func TestOversampledClipSymmetries(t *testing.T) {
	long.Only(t, "TestLinkSuite and TestOversampledClipSuite have the clip")
	in := driven(noiseBursts(20000, 4)[1000:8000], 6)
	in = append(in, lonePeaks(1.05)...)
	turned, scaled, moved, backwards := make([]float64, len(in)), make([]float64, len(in)),
		make([]float64, len(in)+41), make([]float64, len(in))
	for n, x := range in {
		turned[n], scaled[n], moved[n+41], backwards[len(in)-1-n] = -x, x/4, x, x
	}
	for _, factor := range factors {
		out := oneChannel(oversampledClipAt(0, factor), in...)
		minus := oneChannel(oversampledClipAt(0, factor), turned...)
		quarter := oneChannel(oversampledClipAt(stages.DB(0.25), factor), scaled...)
		later := oneChannel(oversampledClipAt(0, factor), moved...)
		reversed := oneChannel(oversampledClipAt(0, factor), backwards...)
		for n, y := range out {
			if minus[n] != -y || later[n+41] != y {
				t.Errorf("factor %d: frame %d is %v, turned over %v, 41 frames later %v", factor, n, y, minus[n],
					later[n+41])
				break
			}
			if back := reversed[len(in)-1-n]; math.Abs(4*quarter[n]-y) > 1e-12 || math.Abs(back-y) > 1e-8 {
				t.Errorf("factor %d: frame %d is %v, scaled %v, backwards %v", factor, n, y, 4*quarter[n], back)
				break
			}
		}
	}
}

// sine is a tone of hz at 44.1 kHz.
func sine(hz, phase, amplitude float64, frames int) []float64 {
	x := make([]float64, frames)
	for n := range x {
		turns := hz * float64(n) / 44100
		x[n] = amplitude * math.Sin(2*math.Pi*(turns-math.Floor(turns))+phase)
	}
	return x
}

// smoothNoise is noise that falls from 2 kHz on and passes 0.5 often.
func smoothNoise(frames int) []float64 {
	random := rand.New(rand.NewPCG(3, 1))
	x := make([]float64, frames)
	a, b := 0.0, 0.0
	for n := range x {
		a += 0.3 * (random.NormFloat64() - a)
		b += 0.3 * (a - b)
		x[n] = 2.5 * b
	}
	return x
}

// steps stay at 0 or at either level for some frames.
func steps(level float64, frames int) []float64 {
	random := rand.New(rand.NewPCG(3, 2))
	x := make([]float64, frames)
	for n, at := 0, 0; n < frames; n++ {
		if at--; at < 0 {
			at = random.IntN(9)
			level = -level
		}
		x[n] = level * float64(at%2)
	}
	return x
}

// lonePeaks are peaks with nothing near them, the shortest there can be, each
// halfway between two samples and at another place of a tile.
func lonePeaks(height float64) []float64 {
	const apart = 300 + 1
	x := make([]float64, 33*apart)
	for at := apart / 2; at < len(x)-apart/2; at += apart {
		for n := -100; n < 100; n++ {
			t := float64(n) + 0.5
			fade := math.Cos(math.Pi / 2 * t / 100)
			x[at+n] = height * fade * fade * math.Sin(math.Pi*t) / (math.Pi * t)
		}
	}
	return x
}

// clipped is x with the samples beyond a ceiling as the ceiling.
func clipped(x []float64, ceiling float64) []float64 {
	for n := range x {
		x[n] = max(-ceiling, min(ceiling, x[n]))
	}
	return x
}
