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

func TestLinkSuite(t *testing.T) {
	for _, knee := range long.Or([]float64{3}, []float64{0, 3}) {
		t.Run(fmt.Sprint("hard_clip, knee ", knee), func(t *testing.T) {
			stagetest.Suite(t, hardClipWith(-6, knee, true), stagetest.Options{
				Ceiling: stages.Linear(-6), Holds: true, Books: true, Linked: true,
			})
		})
		for _, factor := range long.Or([]int64{8}, []int64{2, 8}) {
			t.Run(fmt.Sprint("oversampled_clip ", factor, ", knee ", knee), func(t *testing.T) {
				stagetest.Suite(t, linkedClipAt(-6, knee, factor), stagetest.Options{
					HoldBack: clipHoldBack, Reach: clipReach, Ceiling: stages.Linear(-6), Books: true, Linked: true,
				})
			})
		}
	}
}

// linked is what a stage makes of some channels.
func linked(stage stagetest.Maker, in ...[]float64) stages.Block {
	return stagetest.Render(stage(stages.Format{Rate: 44100, Channels: len(in)}), stages.Block(in))
}

func TestLinkedHardClipTable(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct{ in, want []float64 }{
		{[]float64{2, 1}, []float64{1, 0.5}},
		{[]float64{1, -4}, []float64{0.25, -1}},
		{[]float64{-2, 2}, []float64{-1, 1}},
		{[]float64{4, 0}, []float64{1, 0}},
		{[]float64{1, 0.3}, []float64{1, 0.3}},
		{[]float64{nan, 2}, []float64{nan, 1}},
		{[]float64{inf, 0.5}, []float64{1, 0}},
		{[]float64{-inf, inf}, []float64{-1, 1}},
		{[]float64{3}, []float64{1}},
		{[]float64{0, 0.1, 0.2, 8, -0.4, 2, 1, -8}, []float64{0, 0.0125, 0.025, 1, -0.05, 0.25, 0.125, -1}},
	} {
		var in [][]float64
		for _, x := range c.in {
			in = append(in, []float64{x})
		}
		for i, y := range linked(hardClipWith(0, 0, true), in...) {
			if !(y[0] == c.want[i] || math.IsNaN(y[0]) && math.IsNaN(c.want[i])) {
				t.Errorf("%v: channel %d became %v, want %v", c.in, i, y[0], c.want[i])
			}
		}
	}
}

// What is taken off a channel is in proportion to what is taken off another, at every sample.
func TestLinkedHardClipKeepsProportions(t *testing.T) {
	for _, knee := range []float64{0, 6} {
		a, b := noiseBursts(20000, 6), noiseBursts(3000, 7)
		out := linked(hardClipWith(-12, knee, true), a, b)
		touched := 0
		for i := range a {
			if out[0][i] != a[i] || out[1][i] != b[i] {
				touched++
			}
			if d := math.Abs(out[0][i]*b[i] - out[1][i]*a[i]); d > 1e-15*math.Abs(a[i]*b[i]) {
				t.Fatalf("knee %v, frame %d: %v and %v became %v and %v", knee, i, a[i], b[i], out[0][i], out[1][i])
			}
		}
		if touched < 1000 {
			t.Errorf("%d frames were touched", touched)
		}
	}
}

// Channels that are alike, or each other's opposite, come out alike, as one of them alone does; and no
// channel is the first among them. Alone and without a knee, corners are corrected to the third derivative
// only.
func TestLinkedClipOfLikeChannels(t *testing.T) {
	long.Only(t, "TestLinkedHoldOfLikeChannels has the same of the hold, TestLinkSuite the linked clips")
	a, b := driven(noiseBursts(20000, 4)[1000:8000], 6), driven(noiseBursts(5000, 8)[1000:8000], 5)
	minus := make([]float64, len(a))
	for i, x := range a {
		minus[i] = -x
	}
	for knee, off := range map[float64]float64{0: 1e-6, 2: 0} {
		one := oneChannel(kneeClipAt(0, knee, 8), a...)
		out := linked(linkedClipAt(0, knee, 8), a, a, minus)
		ab, ba := linked(linkedClipAt(0, knee, 8), a, b), linked(linkedClipAt(0, knee, 8), b, a)
		for i := range a {
			if out[1][i] != out[0][i] || out[2][i] != -out[0][i] || math.Abs(out[0][i]-one[i]) > off {
				t.Fatalf("knee %v, frame %d: %v, %v and %v, alone %v", knee, i, out[0][i], out[1][i], out[2][i], one[i])
			}
			if math.Abs(ab[0][i]-ba[1][i])+math.Abs(ab[1][i]-ba[0][i]) > 1e-12 {
				t.Fatalf("knee %v, frame %d: %v and %v, in the other order %v and %v", knee, i, ab[0][i], ab[1][i],
					ba[1][i], ba[0][i])
			}
		}
	}
}

// plainLinked is what plainClip is, of channels that are linked.
func plainLinked(in [][]float64, knee float64, times int) [][]complex128 {
	frames := len(in[0])
	fine := fourier.NewFFT(frames * times)
	var y [][]float64
	for _, x := range in {
		c := make([]complex128, frames*times/2+1)
		copy(c, fourier.NewFFT(frames).Coefficients(nil, x))
		y = append(y, fine.Sequence(nil, c))
	}
	start := math.Pow(10, -knee/20)
	for n := range y[0] {
		most := 0.0
		for c := range y {
			y[c][n] /= float64(frames)
			most = max(most, math.Abs(y[c][n]))
		}
		for c := range y {
			if most > start {
				y[c][n] *= kneed(most, start) / most
			}
		}
	}
	var all [][]complex128
	for c := range y {
		all = append(all, fine.Coefficients(nil, y[c]))
	}
	return all
}

// On noise and percussion, where the channel that leads changes in every manner, a linked clip is the ideal
// one up to 20 kHz, as far as the plain one that it is compared with is: that has the last word on factors
// from 8 on.
func TestLinkedClipAgainstPlainClipAtAHundredTimesTheRate(t *testing.T) {
	long.Only(t, "TestOversampledClipAgainstPlainClipAtAHundredTimesTheRate has the clip without a link")
	const frames, times = 8192, 128
	noise := func(hz float64, seed uint64, db float64) []float64 {
		return driven(faded(noiseBursts(hz, seed)[:frames]), db)
	}
	cases := []struct {
		name   string
		in     [][]float64
		limits [2][4]float64 // without a knee and with one, of the factors, dB
	}{
		{
			"noise to 16 kHz", [][]float64{noise(16000, 2, 4), noise(16000, 3, 3)},
			[2][4]float64{{-86, -118, -118, -118}, {-72, -116, -135, -135}},
		},
		{
			"noise to 2 kHz", [][]float64{noise(2000, 2, 10), noise(2000, 3, 9), noise(2000, 4, 10)},
			[2][4]float64{{-131, -132, -132, -132}, {-136, -138, -138, -138}},
		},
		{
			"percussion",
			[][]float64{
				driven(faded(percussion()[2000:][:frames]), 12), driven(faded(percussion()[9000:][:frames]), 12),
			}, [2][4]float64{{-42, -89, -109, -109}, {-47, -86, -117, -118}},
		},
		{"eight channels", [][]float64{
			noise(9000, 2, 6), noise(9000, 3, 6), noise(9000, 4, 6), noise(9000, 5, 6),
			noise(9000, 6, 6), noise(9000, 7, 6), noise(9000, 8, 6), make([]float64, frames),
		}, [2][4]float64{{-82, -116, -116, -116}, {-75, -118, -124, -124}}},
	}
	for _, c := range long.Or(cases[:1], cases) {
		for k, knee := range [2]float64{0, 3} {
			want := plainLinked(c.in, knee, times)
			for i, factor := range factors {
				if factor != 4 && factor != 8 && !long.Wanted() {
					continue
				}
				out := linked(linkedClipAt(0, knee, factor), c.in...)
				signal, rest := 0.0, 0.0
				for ch := range out {
					got := fourier.NewFFT(frames).Coefficients(nil, out[ch])
					for k := range frames * 20000 / 44100 {
						signal += power(want[ch][k] / times)
						rest += power(got[k] - want[ch][k]/times)
					}
				}
				if distance := 10 * math.Log10(rest/signal); distance > c.limits[k][i] {
					t.Errorf("%s, knee %v, factor %d: distance %.1f dB, want %v", c.name, knee, factor, distance,
						c.limits[k][i])
				}
			}
		}
	}
}

// A linked clip tells what it would have removed without the link.
func TestLinkedClipTellsWhatTheLinkCosts(t *testing.T) {
	in := stages.Block{driven(noiseBursts(20000, 4)[1000:8000], 6), driven(noiseBursts(5000, 8)[1000:8000], 5)}
	for _, kind := range []string{"hard_clip", "oversampled_clip"} {
		for _, knee := range []float64{0, 3} {
			effect := func(link bool) stages.Effect {
				set := stages.Settings{"ceiling_dbfs": 0.0, "knee_db": knee, "link": link}
				if kind == "oversampled_clip" {
					set["factor"] = int64(4)
				}
				s := mustBuild(kind, set)(stages.Format{Rate: 44100, Channels: 2})
				stagetest.Render(s, in)
				return s.Effect()
			}
			with, without := effect(true), effect(false)
			if d := with.Unlinked/without.Removed - 1; math.Abs(d) > 1e-12 || without.Unlinked != 0 ||
				!(with.Removed > with.Unlinked) {
				t.Errorf("%s, knee %v: %+v linked, %+v not", kind, knee, with, without)
			}
		}
	}
}
