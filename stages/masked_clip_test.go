package stages_test

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

func maskedClipAt(ceilingDBFS float64) stagetest.Maker { return maskedClip(ceilingDBFS, 0.6, 100) }

func maskedClip(ceilingDBFS, temper, guardHz float64) stagetest.Maker {
	return func(f stages.Format) stages.Stage {
		s, err := stages.Build("masked_clip", f, stages.Settings{
			"ceiling_dbfs": ceilingDBFS, "temper": temper, "guard_hz": guardHz,
		})
		if err != nil {
			panic(err)
		}
		return s
	}
}

func TestMaskedClipIsAStage(t *testing.T) {
	// What is removed ends 4.4 ms, 194 frames or 422, after an over. A cut beside one that is far over may raise
	// another, which is cut in turn.
	for _, c := range []struct{ rate, holdBack, reach int }{{44100, 9472, 2 * 194}, {96000, 14848, 2 * 422}} {
		if c.rate > 44100 && !long.Wanted() {
			continue
		}
		t.Run(fmt.Sprint(c.rate, " Hz"), func(t *testing.T) {
			stagetest.Suite(t, maskedClipAt(-6), stagetest.Options{
				Rate: c.rate, HoldBack: c.holdBack, Ceiling: stages.Linear(-6), Reach: c.reach, Books: true,
				Remembers: true,
			})
		})
	}
}

// What aliases in a sine 6 dB over, see aliasOf: what was asked for, and what these passes gave when they
// were made, less 2 dB.
func TestMaskedClipAliasing(t *testing.T) {
	for i, c := range []struct{ asked, kept float64 }{{110, 116}, {103, 138}, {100, 130}} {
		if i != 1 && !long.Wanted() {
			continue
		}
		t.Run(fmt.Sprint(aliasTones[i], " Hz"), func(t *testing.T) {
			t.Parallel()
			got := aliasOf(aliasTones[i], aliasPhases[:long.Or(1, 3)], maskedClipAt(stages.DB(aliasClip)))
			t.Log(got)
			if got.snr < max(c.asked, c.kept) {
				t.Errorf("SNR %.1f dB, asked for %v, kept %v", got.snr, c.asked, c.kept)
			}
			if got.over > 0 {
				t.Errorf("a sample is %.4f dB over", got.over)
			}
		})
	}
}

// held is what a hold after the masked clip makes of a channel, and how far it is over the ceiling by sample
// and by true peak, dB.
func held(t *testing.T, ceilingDBFS float64, x []float64) (masked, out []float64, over, trueOver float64) {
	t.Helper()
	masked = oneChannel(maskedClipAt(ceilingDBFS), x...)
	out = oneChannel(ceilingHoldAt(ceilingDBFS, "true", "band_limited"), masked...)
	if len(out) != len(x) {
		t.Fatalf("%d frames of %d", len(out), len(x))
	}
	trueOver = math.Inf(-1)
	if len(out) > 1 {
		trueOver = stages.DB(truePeak(out)) - ceilingDBFS
	}
	return masked, out, stages.DB(samplePeak(out)) - ceilingDBFS, trueOver
}

// Whatever comes in, the passes come to an end, and nothing passes the hold after them.
func TestMaskedClipOfExtremes(t *testing.T) {
	constant := func(n int, v float64) []float64 { return slices.Repeat([]float64{v}, n) }
	random := rand.New(rand.NewPCG(1, 2))
	noise := make([]float64, long.Or(6000, 30000))
	for i := range noise {
		noise[i] = random.NormFloat64()
	}
	click := make([]float64, long.Or(12000, 20000))
	click[9000] = 2
	wild := slices.Clone(noise[:min(12000, len(noise))])
	wild[4000], wild[5500] = math.NaN(), 1e300
	// TestMaskedClipIsAStage has infinite samples, and TestCeilingHoldCountsTheClamped holds them.
	if long.Wanted() {
		wild[4900] = math.Inf(1)
	}
	for _, c := range []struct {
		name string
		x    []float64
		left float64 // the most, dB, that the masked clip may leave over
		true bool    // a true peak can be held there, see the hold
	}{
		{"silence", make([]float64, long.Or(12000, 20000)), math.Inf(-1), false},
		{"nothing", nil, math.Inf(-1), false},
		{"one frame", []float64{3}, 12, false},
		{"a click of +6 dB in silence", click, 0, true},
		// nothing of which its pulses can take down: they have none below the guard
		{"DC", faded(constant(40000, 1.3)), 5, true},
		{"white noise", faded(slices.Clone(noise)), 6, false},
		{"programme, +24 dB", driven(mix(t, "01 quay", 0)[:len(noise)], 24), 6, false},
		{"8 Hz, +6 dB", driven(faded(sine(8, 0, 1, 60000)), 6), 0.5, true},
		{"samples that are no numbers, and beyond all measure", wild, 130, false},
	} {
		// TestMaskedClipIsTheWholeIteration has programme, and what is beyond all measure is noise, too.
		if (len(c.x) >= 40000 || c.name == "white noise") && !long.Wanted() {
			continue
		}
		masked, _, over, trueOver := held(t, -1, c.x)
		t.Logf("%s: left %+.2f dB, held %+.4f dB, true %+.4f dB", c.name, stages.DB(samplePeak(masked))+1,
			over, trueOver)
		if left := stages.DB(samplePeak(masked)) + 1; left > c.left {
			t.Errorf("%s: the masked clip leaves %+.2f dB, want %v at most", c.name, left, c.left)
		}
		if over > 1e-12 || c.true && trueOver > 0.02 {
			t.Errorf("%s: held %+.4f dB over, true %+.4f dB", c.name, over, trueOver)
		}
	}
}

// Nothing is removed more than 2.9 ms before an over, nor 4.4 ms after it; what is further away passes bit
// for bit.
func TestMaskedClipKeepsToItsReach(t *testing.T) {
	for _, rate := range []int{32000, 44100, 96000, 192000} {
		random := rand.New(rand.NewPCG(5, uint64(rate)))
		x := make([]float64, rate/2)
		for i := range x {
			x[i] = 0.1 * random.NormFloat64()
		}
		at := rate / 4
		for i := -8; i <= 8; i++ {
			x[at+i] += 1.5 * (0.5 + 0.5*math.Cos(math.Pi*float64(i)/8))
		}
		y := stagetest.Render(maskedClipAt(0)(stages.Format{Rate: rate, Channels: 1}), stages.Block{x})[0]
		first, last := -1, -1
		for i := range x {
			if x[i] != y[i] {
				if first < 0 {
					first = i
				}
				last = i
			}
		}
		overFrom, overTo := slices.IndexFunc(x, func(v float64) bool { return v > 0.9 }), at+8
		if early := float64(overFrom-first) / float64(rate); first < 0 || early > 0.0029 {
			t.Errorf("%d Hz: removed %.3f ms before the over", rate, 1000*early)
		}
		if late := float64(last-overTo) / float64(rate); late > 0.0044 {
			t.Errorf("%d Hz: removed %.3f ms after the over", rate, 1000*late)
		}
	}
}

func TestMaskedClipOfEqualChannels(t *testing.T) {
	x := driven(mix(t, "03 lantern", 0), 6)
	out := stagetest.Render(maskedClipAt(0)(stages.Format{Rate: 44100, Channels: 3}),
		stages.Block{x, make([]float64, len(x)), x})
	if !slices.Equal(out[0], out[2]) {
		t.Error("equal channels come out different")
	}
	if samplePeak(out[1]) != 0 {
		t.Error("a silent channel is not silent any more")
	}
	if slices.Equal(out[0], x) {
		t.Error("nothing was removed")
	}
}

// The mask is for a playback level, and the settings matter.
func TestMaskedClipHearsItsLevel(t *testing.T) {
	x := driven(mix(t, "01 quay", 0)[:30000], 6)
	at := func(level float64, m stagetest.Maker) []float64 {
		return stagetest.Render(m(stages.Format{Rate: 44100, Channels: 1, LevelDBSPL: level}), stages.Block{x})[0]
	}
	usual := at(0, maskedClipAt(0))
	if !slices.Equal(usual, at(92, maskedClipAt(0))) {
		t.Error("92 dB SPL is another level than none")
	}
	for name, other := range map[string][]float64{
		"75 dB SPL": at(75, maskedClipAt(0)), "a temper of 0.5": at(0, maskedClip(0, 0.5, 100)),
		"a guard at 200 Hz": at(0, maskedClip(0, 0.6, 200)),
	} {
		if slices.Equal(usual, other) {
			t.Errorf("%s changes nothing", name)
		}
	}
}

func TestMaskedClipRates(t *testing.T) {
	for rate, works := range map[int]bool{
		8000: false, 31999: false, 32000: true, 200000: true, 200001: false, 384000: false,
	} {
		s, err := stages.Build("masked_clip", stages.Format{Rate: rate, Channels: 1}, stages.Settings{
			"ceiling_dbfs": -1.0, "temper": 0.6, "guard_hz": 100.0,
		})
		if (err == nil) != works || (s == nil) == works {
			t.Errorf("%d Hz: stage %v, error %v", rate, s != nil, err)
		}
		if err != nil && !strings.Contains(err.Error(), fmt.Sprint(rate)) {
			t.Errorf("%d Hz: %v", rate, err)
		}
	}
}

// The bits are those of every processor: run the test on another one, in its long form.
func TestMaskedClipBits(t *testing.T) {
	long.Only(t, "TestGoldenMasters of package pipeline has masters of this clip")
	const want = "c657852b4304c6df"
	u := uint32(1)
	x := make([]float64, 40000)
	for i := range x {
		u = 1664525*u + 1013904223
		x[i] = 1.5 * (float64(u)/(1<<31) - 1) * (0.3 + 0.7*float64(i%7000)/7000)
	}
	hash := sha256.New()
	for _, v := range oneChannel(maskedClipAt(-1), x...) {
		_ = binary.Write(hash, binary.LittleEndian, math.Float64bits(v))
	}
	if got := hex.EncodeToString(hash.Sum(nil))[:16]; got != want {
		t.Errorf("bits %s, want %s", got, want)
	}
}

// The mask of every peak that a cut reckons with has been heard by then, however few frames come at once.
func TestMaskedClipHearsBeforeItCuts(t *testing.T) {
	for _, rate := range []int{44100, 96000}[:long.Or(1, 2)] {
		f := stages.Format{Rate: rate, Channels: 1, Seed: 1}
		x := driven(noiseBursts(12000, 5)[:long.Or(6000, 12000)], 6)
		s, y := maskedClipAt(-6)(f), stages.NewBlock(1, 0)
		for i := range x {
			y = s.Process(y, stages.Block{x[i : i+1]})
		}
		y = s.Flush(y)
		if want := stagetest.Render(maskedClipAt(-6)(f), stages.Block{x}); !slices.Equal(y[0], want[0]) {
			t.Errorf("%d Hz: frame by frame it is not what it is at once", rate)
		}
	}
}
