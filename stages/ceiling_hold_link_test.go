package stages_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

func linkedHoldAt(db float64, peak, method string) stagetest.Maker {
	return mustBuild("ceiling_hold", stages.Settings{
		"ceiling_dbfs": db, "peak": peak, "method": method, "link": true,
	})
}

func TestLinkedHoldSuite(t *testing.T) {
	for _, c := range []struct {
		peak, method    string
		holdBack, reach int
	}{
		{"true", "band_limited", wholeHoldBack, wholeReach},
		{"sample", "band_limited", wholeHoldBack, wholeReach},
		{"true", "plain", 0, 0},
	} {
		if c.holdBack > 0 && !long.Wanted() { // TestLinkedHoldOfAnyBlocks looks at blocks
			continue
		}
		t.Run(c.peak+" "+c.method, func(t *testing.T) {
			stagetest.Suite(t, linkedHoldAt(-6, c.peak, c.method), stagetest.Options{
				HoldBack: c.holdBack, Reach: c.reach, Ceiling: stages.Linear(-6), Holds: true, Books: true, Linked: true,
			})
		})
	}
}

// linkedSignals are channels that take turns, that follow each other, and of which one is alone.
func linkedSignals(t *testing.T) map[string]stages.Block {
	quiet := func(x []float64, db float64) []float64 { return driven(slices.Clone(x), db) }
	a, b := noiseBursts(16000, 4), noiseBursts(9000, 8)
	all := map[string]stages.Block{
		"noise":        {driven(slices.Clone(a), 6), driven(slices.Clone(b), 5)},
		"panned":       {driven(slices.Clone(a), 6), quiet(a, 3)},
		"one is quiet": {driven(slices.Clone(a), 8), quiet(b, -20)},
		"a mix":        {driven(mix(t, "02 breakwater", 0), 7), driven(mix(t, "02 breakwater", 1), 7)},
		"21 kHz":       {faded(sine(21000, 0.3, stages.Linear(5), len(a))), driven(slices.Clone(b), -4)},
		"white noise":  {driven(noiseBursts(22050, 1), 6), driven(noiseBursts(22050, 2), 5)},
	}
	if long.Wanted() {
		var eight stages.Block
		for c := range 8 {
			eight = append(eight, driven(noiseBursts(4000+2000*float64(c), uint64(c)), 5))
		}
		all["eight"] = eight
	}
	return all
}

// Linked, each channel keeps the ceiling as it does alone, and next to nothing is left for the clamp.
func TestLinkedHoldKeepsTheCeiling(t *testing.T) {
	const db = -1
	// The peak of a quick run.
	quick := map[string]string{"panned": "true"}
	for name, in := range linkedSignals(t) {
		for _, peak := range []string{"true", "sample"} {
			if quick[name] != peak && !long.Wanted() {
				continue
			}
			t.Run(name+", "+peak, func(t *testing.T) {
				t.Parallel()
				s := linkedHoldAt(db, peak, "band_limited")(stages.Format{Rate: 44100, Channels: len(in)})
				out := stagetest.Render(s, in)
				if n := s.Effect().Clamped; n > 0 {
					t.Errorf("%d samples clamped", n)
				}
				for c, x := range out {
					over, trueOver := stages.DB(samplePeak(x))-db, math.Inf(-1)
					if peak == "true" {
						trueOver = stages.DB(truePeak(x)) - db
					}
					t.Logf("channel %d: sample %+.4f dB, true %+.4f dB", c, over, trueOver)
					if over > 0 || trueOver > 0.02 {
						t.Errorf("channel %d: sample %+.4f dB, true %+.4f dB over", c, over, trueOver)
					}
				}
			})
		}
	}
}

// Channels that are alike, or each other's opposite, come out alike and, after a clip that leaves no broad
// runs, as one of them alone; a channel that follows another at a lower level still follows it at that level;
// and no channel is the first among them.
func TestLinkedHoldOfLikeChannels(t *testing.T) {
	a, b := oneChannel(oversampledClipAt(-1, 8), driven(noiseBursts(16000, 4), 6)...),
		driven(noiseBursts(9000, 8), 5)
	minus, half := make([]float64, len(a)), make([]float64, len(a))
	for i, x := range a {
		minus[i], half[i] = -x, x/2
	}
	for _, peak := range long.Or([]string{"true"}, []string{"true", "sample"}) {
		hold := linkedHoldAt(-1, peak, "band_limited")
		one := oneChannel(ceilingHoldAt(-1, peak, "band_limited"), a...)
		alike, following := linked(hold, a, a, minus), linked(hold, half, a)
		ab, ba := linked(hold, a, b), linked(hold, b, a)
		off := 0.0
		for i := range a {
			if alike[1][i] != alike[0][i] || alike[2][i] != -alike[0][i] {
				t.Fatalf("%s, frame %d: %v, %v and %v", peak, i, alike[0][i], alike[1][i], alike[2][i])
			}
			off = max(off, math.Abs(alike[0][i]-one[i]))
			if d := math.Abs(following[0][i] - following[1][i]/2); d > 1e-9 {
				t.Fatalf("%s, frame %d: %v follows %v", peak, i, following[0][i], following[1][i])
			}
			if d := math.Abs(ab[0][i]-ba[1][i]) + math.Abs(ab[1][i]-ba[0][i]); d > 1e-9 {
				t.Fatalf("%s, frame %d: %v and %v, in the other order %v and %v", peak, i, ab[0][i], ab[1][i], ba[1][i],
					ba[0][i])
			}
		}
		if t.Logf("%s: %.3g from one alone", peak, off); off > 1e-7 {
			t.Errorf("%s: %v from one alone", peak, off)
		}
	}
}

// One channel alone is linked with nothing.
func TestLinkedHoldOfOneChannel(t *testing.T) {
	a := driven(noiseBursts(16000, 4), 6)
	for _, peak := range []string{"true", "sample"} {
		got, want := oneChannel(linkedHoldAt(-1, peak, "band_limited"), a...),
			oneChannel(ceilingHoldAt(-1, peak, "band_limited"), a...)
		if !slices.Equal(got, want) {
			t.Errorf("%s: not what it is without the link", peak)
		}
	}
}

// imageMove is by how much the level difference between two channels has moved, dB: what 95 % of the windows
// of 10 ms keep.
func imageMove(in, out stages.Block) float64 {
	const frames = 441
	level := func(b stages.Block, from int) float64 {
		sum := [2]float64{}
		for c := range sum {
			for _, v := range b[c][from : from+frames] {
				sum[c] += v * v
			}
		}
		return 10 * math.Log10(sum[0]/sum[1])
	}
	var moved []float64
	for from := 0; from+frames <= in.Frames(); from += frames {
		if d := math.Abs(level(out, from) - level(in, from)); !math.IsNaN(d) {
			moved = append(moved, d)
		}
	}
	slices.Sort(moved)
	return moved[len(moved)*95/100]
}

// With the link the image moves clearly less, as little as after a linked clip at the track's rate, and more
// is removed, of which the effect tells.
func TestLinkedHoldKeepsTheImage(t *testing.T) {
	long.Only(t, "TestLinkedHoldOfLikeChannels has a channel that follows another")
	for _, name := range long.Or([]string{"02 breakwater"}, []string{"01 quay", "02 breakwater", "03 lantern"}) {
		in := stages.Block{driven(mix(t, name, 0), 7), driven(mix(t, name, 1), 7)}
		for _, c := range []struct{ peak, method string }{
			{"true", "band_limited"}, {"sample", "band_limited"}, {"true", "plain"},
		} {
			if c.peak == "sample" && !long.Wanted() {
				continue
			}
			t.Run(fmt.Sprint(name, " ", c.peak, " ", c.method), func(t *testing.T) {
				t.Parallel()
				f := stages.Format{Rate: 44100, Channels: 2}
				apart, together := ceilingHoldAt(-1, c.peak, c.method)(f), linkedHoldAt(-1, c.peak, c.method)(f)
				without, with := imageMove(in, stagetest.Render(apart, in)), imageMove(in, stagetest.Render(together, in))
				removed, alone := together.Effect(), apart.Effect()
				t.Logf("moved %.3f dB, linked %.3f dB; %.2f dB more removed", without, with,
					10*math.Log10(removed.Removed/alone.Removed))
				plain := imageMove(in, stagetest.Render(hardClipWith(-1, 0, true)(f), in))
				if with > 0.8*without || with > plain+0.02 {
					t.Errorf("moved %.3f dB, linked %.3f dB, by a linked clip %.3f dB", without, with, plain)
				}
				if math.Abs(removed.Unlinked/alone.Removed-1) > 1e-12 || !(removed.Removed > removed.Unlinked) {
					t.Errorf("effect %+v, without the link %+v", removed, alone)
				}
			})
		}
	}
}

// Two tones of one frequency, which take turns in leading, have no other products than harmonics. After a
// linked clip a linked hold aliases as little as one of single channels; by itself it clips at four times the
// rate. What is kept is what was measured when it was made, less 2 dB.
func TestLinkedHoldAliasing(t *testing.T) {
	long.Only(t, "TestCeilingHoldAliasing has the hold without a link")
	const frames = aliasFrames + 2*aliasLead
	f, db := stages.Format{Rate: aliasRate, Channels: 2}, stages.DB(aliasClip)
	for _, clip := range []bool{false, true} {
		for i, kept := range map[bool][3]float64{true: {140, 137, 127}, false: {140, 122, 86}}[clip] {
			if (!clip || i != 1) && !long.Wanted() {
				continue
			}
			t.Run(fmt.Sprint("clip ", clip, ", ", aliasTones[i], " Hz"), func(t *testing.T) {
				t.Parallel()
				in := stages.Block{
					faded(sine(aliasTones[i], 0.1, 1, frames)), faded(sine(aliasTones[i], 0.8, 0.9, frames)),
				}
				if clip {
					in = stagetest.Render(linkedClipAt(db, 0, 8)(f), in)
				}
				for c, y := range stagetest.Render(linkedHoldAt(db, "true", "band_limited")(f), in) {
					y = y[aliasLead : aliasLead+aliasFrames]
					if got := aliasSNR(fourier.NewFFT(len(y)).Coefficients(nil, y), aliasTones[i]); got < kept {
						t.Errorf("channel %d: SNR %.1f dB, kept %v", c, got, kept)
					}
				}
			})
		}
	}
}

// Whatever the lengths of the blocks, the same comes out. The suite looks at more of that, and takes its
// time.
func TestLinkedHoldOfAnyBlocks(t *testing.T) {
	in := stages.Block{
		driven(noiseBursts(22050, 4), 6), driven(noiseBursts(9000, 8), 5), driven(noiseBursts(16000, 9), 3),
	}
	in = in.Slice(0, 7001)
	for _, peak := range []string{"true", "sample"} {
		hold := linkedHoldAt(-1, peak, "band_limited")
		want := linked(hold, in...)
		for _, length := range long.Or(map[string][]int{"true": {997}, "sample": {64}}[peak],
			[]int{1, 64, 997, 4096}) {
			s := hold(stages.Format{Rate: 44100, Channels: len(in)})
			out := stages.NewBlock(len(in), 0)
			for from := 0; from < in.Frames(); from += length {
				out = s.Process(out, in.Slice(from, min(from+length, in.Frames())))
			}
			for c, y := range s.Flush(out) {
				if !slices.Equal(y, want[c]) {
					t.Errorf("%s: blocks of %d frames: channel %d differs", peak, length, c)
				}
			}
		}
	}
}
