package stages_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"

	"pgregory.net/rapid"
)

// hostile are signals that are hard to hold, some of which no converter delivers.
func hostile() map[string][]float64 {
	fill := func(n int, f func(i int) float64) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = f(i)
		}
		return x
	}
	square := func(period int) []float64 {
		return fill(1500, func(i int) float64 { return float64(1 - 2*(i/period%2)) })
	}
	constant := func(v float64, n int) []float64 { return fill(n, func(int) float64 { return v }) }
	one := func(at int, v float64) []float64 {
		return fill(900, func(i int) float64 { return map[bool]float64{true: v}[i == at] })
	}
	m := map[string][]float64{
		"nothing":                 {},
		"silence":                 constant(0, 900),
		"one sample":              {4},
		"one sample, negative":    {-1e5},
		"two samples":             {1, -1},
		"an impulse":              one(450, 10),
		"an impulse at the start": one(0, -10),
		"an impulse at the end":   one(899, 10),
		"alternating samples":     square(1),
		"a square of 4 frames":    square(2),
		"a square of 14 frames":   square(7),
		"a square of 200 frames":  square(100),
		"DC, +20 dB":              constant(10, 1500),
		"DC, a short while":       constant(-10, 33),
		"noise":                   driven(noiseBursts(22050, 1)[1500:4500], 12),
		"noise to 20 kHz":         driven(noiseBursts(20000, 1)[1500:4500], 12),
		"denormals":               fill(900, func(i int) float64 { return 5e-324 * float64(i-450) }),
		"the largest numbers": fill(long.Or(300, 900), func(i int) float64 {
			return math.MaxFloat64 * math.Sin(float64(i))
		}),
		"1e300 among the quiet": one(450, 1e300),
		"infinities":            fill(long.Or(300, 900), func(i int) float64 { return math.Inf(1 - 2*(i/100%2)) }),
		"what is no number":     constant(math.NaN(), 900),
		"what is no number, and 12": fill(900, func(i int) float64 {
			return map[bool]float64{true: math.NaN(), false: 4}[i%50 < 3]
		}),
	}
	tones := []float64{20500, 22000, 19000, 20000, 21000, 21500, 22049}
	for _, hz := range tones[:long.Or(2, len(tones))] {
		m[fmt.Sprintf("%v Hz, +12 dB", hz)] = sine(hz, 1, stages.Linear(12), 2000)
	}
	return m
}

// Whatever comes in, no sample passes the ceiling, by not so much as a bit.
func TestCeilingHoldKeepsEverySample(t *testing.T) {
	all := hostile()
	// A quick run holds samples of those that leave most for the clamp.
	hardest := []string{"the largest numbers", "what is no number, and 12", "22000 Hz, +12 dB"}
	// TestMaskedClipOfExtremes holds 1e300, and TestCeilingHoldCountsTheClamped infinities.
	slow := []string{"the largest numbers", "1e300 among the quiet", "infinities"}
	for _, method := range []string{"band_limited", "plain"} {
		for _, peak := range []string{"true", "sample"} {
			t.Run(method+" "+peak, func(t *testing.T) {
				t.Parallel()
				for name, in := range all {
					if method+peak == "band_limitedsample" && !slices.Contains(hardest, name) && !long.Wanted() {
						continue
					}
					if method+peak == "band_limitedtrue" && slices.Contains(slow, name) && !long.Wanted() {
						continue
					}
					for _, db := range long.Or([]float64{-0.1}, []float64{0, -0.1, -1, -6.02, -60}) {
						wantHeld(t, fmt.Sprint(name, " at ", db, " dBFS"), in, db, peak, method)
					}
				}
			})
		}
	}
}

// wantHeld renders in and looks at every sample of what comes out. A sample that is not a
// number has no level that could be held: the method plain leaves it alone, the
// other, whose filters would spread it, takes it for silence.
func wantHeld(t interface{ Errorf(string, ...any) }, name string, in []float64, db float64,
	peak, method string) {
	s := ceilingHoldAt(db, peak, method)(stages.Format{Rate: 48000, Channels: 1})
	out := stagetest.Render(s, stages.Block{in})[0]
	if len(out) != len(in) {
		t.Errorf("%s: %d frames became %d", name, len(in), len(out))
	}
	ceiling := stages.Linear(db)
	for i, y := range out {
		if method == "plain" && math.IsNaN(in[i]) {
			continue
		}
		if !(math.Abs(y) <= ceiling) {
			t.Errorf("%s: frame %d is %v, %v above the ceiling", name, i, y, math.Abs(y)-ceiling)
			return
		}
	}
	if e := s.Effect(); math.IsNaN(e.Removed+e.Cut) || math.IsInf(e.Removed+e.Cut, 0) {
		t.Errorf("%s: effect %+v", name, e)
	}
}

// The same for signals that nobody has thought of.
func TestCeilingHoldKeepsAnySample(t *testing.T) {
	long.Checks(t, 2)
	// A quick run leaves what is slow to hold to TestMaskedClipOfExtremes and TestCeilingHoldCountsTheClamped.
	specials := []float64{0, 1, -1, math.NaN(), -1e-310, 0.5, math.Inf(1), 1e300}
	special := rapid.SampledFrom(specials[:long.Or(6, len(specials))])
	sample := rapid.OneOf(special, rapid.Float64Range(-4, 4), rapid.Float64())
	rapid.Check(t, func(t *rapid.T) {
		in := []float64{}
		for range rapid.IntRange(0, 5).Draw(t, "stretches") {
			motif := rapid.SliceOfN(sample, 1, 6).Draw(t, "motif")
			by := rapid.Float64Range(-1.1, 1.1).Draw(t, "by")
			gain := 1.0
			for i := range rapid.IntRange(0, long.Or(150, 400)).Draw(t, "frames") {
				in = append(in, gain*motif[i%len(motif)])
				if (i+1)%len(motif) == 0 {
					gain *= by
				}
			}
		}
		peak := rapid.SampledFrom([]string{"true", "sample"}).Draw(t, "peak")
		method := rapid.SampledFrom([]string{"band_limited", "band_limited", "plain"}).Draw(t, "method")
		wantHeld(t, "it", in, rapid.Float64Range(-60, 0).Draw(t, "ceiling"), peak, method)
	})
}

// Where nothing is over, what comes out is what came in. A true peak sought at 32 times the
// rate may be missed by 0.01 dB; for peak = "sample" what lies between the samples does not count.
func TestCeilingHoldLeavesAloneWhatIsWithin(t *testing.T) {
	const db = -1
	all := map[string][]float64{
		"noise to 20 kHz": noiseBursts(20000, 3),
		"a mix":           mix(t, "01 quay", 1),
		"11 kHz":          faded(sine(11025, math.Pi/4, 1, clipFrames())),
	}
	if long.Wanted() {
		all["noise to 12 kHz"] = noiseBursts(12000, 3)
		all["percussion"] = percussion()
		all["20 kHz"] = faded(sine(20000, 0.3, 1, clipFrames()))
	}
	for name, in := range all {
		gain := stages.Linear(db-0.01) / truePeak(in)
		for i := range in {
			in[i] *= gain
		}
		wantUntouched(t, name, in, ceilingHoldAt(db, "true", "band_limited"))
		for _, method := range []string{"band_limited", "plain"} {
			wantUntouched(t, name+", samples", driven(in, db-1e-9), ceilingHoldAt(db, "sample", method))
		}
	}
}

// What a hold has held it leaves alone when it comes again.
func TestCeilingHoldHoldsOnce(t *testing.T) {
	long.Only(t, "TestCeilingHoldKeepsEverySample and TestCeilingHoldHoldsTruePeaks have what is held")
	frames := long.Or(1<<14, 1<<16)
	for name, in := range map[string][]float64{
		"noise to 20 kHz": driven(noiseBurstsOf(frames, 20000, 6), 5),
		"noise to 1 kHz":  driven(noiseBurstsOf(frames, 1000, 6), 11),
		"percussion":      driven(percussion(), 11),
		"a mix":           driven(mix(t, "02 breakwater", 1), 5),
		// Held, these have tops with two humps, from which a series leads astray.
		"5512.5 Hz": faded(sine(5512.5, 0.3, stages.Linear(2), 16384)),
		"5512.9 Hz": faded(sine(5512.9, 0.3, stages.Linear(2), 16384)),
	} {
		for _, peak := range []string{"true", "sample"} {
			held := oneChannel(ceilingHoldAt(-1, peak, "band_limited"), in...)
			wantUntouched(t, name+", "+peak, held, ceilingHoldAt(-1, peak, "band_limited"))
		}
	}
}

// wantUntouched wants every bit of in to come out.
func wantUntouched(t *testing.T, name string, in []float64, make stagetest.Maker) {
	t.Helper()
	s := make(stages.Format{Rate: 44100, Channels: 1})
	out := stagetest.Render(s, stages.Block{in})[0]
	for i := range in {
		if !equalBits(out[i], in[i]) {
			t.Errorf("%s: frame %d is %v, was %v", name, i, out[i], in[i])
			break
		}
	}
	if e := s.Effect(); e != (stages.Effect{}) {
		t.Errorf("%s: effect %+v", name, e)
	}
}

// The clamp takes what infinite samples, which no converter delivers, leave over, and says so: no other
// way leads to a sample that lies at the ceiling to the bit.
func TestCeilingHoldCountsTheClamped(t *testing.T) {
	in := stages.Block{hostile()["infinities"]}
	for _, peak := range long.Or([]string{"true"}, []string{"true", "sample"}) {
		s := ceilingHoldAt(-1, peak, "band_limited")(stages.Format{Rate: 44100, Channels: 1})
		clamped := int64(0)
		for _, y := range stagetest.Render(s, in)[0] {
			if math.Abs(y) == stages.Linear(-1) {
				clamped++
			}
			if !(math.Abs(y) <= stages.Linear(-1)) {
				t.Fatalf("%s peak: %v passes the ceiling", peak, y)
			}
		}
		if got := s.Effect().Clamped; got != clamped || got < 100 {
			t.Errorf("%s peak: %d clamped, %d samples at the ceiling", peak, got, clamped)
		}
	}
}
