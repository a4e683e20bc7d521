package meter

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// TestCrestFactors: sample peak over RMS of whole periods, closed forms.
func TestCrestFactors(t *testing.T) {
	const period, frames = 48000, 48000
	fill := func(f func(phase float64) float64) []float64 {
		x := make([]float64, frames)
		for i := range x {
			x[i] = f((float64(i%period) + 0.5) / period)
		}
		return x
	}
	cosines := func(n int) func(float64) float64 {
		return func(p float64) (sum float64) {
			for k := 1; k <= n; k++ {
				sum += math.Cos(2 * math.Pi * float64(k) * (p - 0.5/period))
			}
			return sum / float64(n)
		}
	}
	sine := func(p float64) float64 { return math.Sin(2 * math.Pi * p) }
	for _, c := range []struct {
		name string
		f    func(float64) float64
		want float64
	}{
		{"sine", sine, 3.0103},
		{"square", func(p float64) float64 { return math.Copysign(1, p-0.5) }, 0},
		{"triangle", func(p float64) float64 { return 4*math.Abs(p-0.5) - 1 }, 4.7712},
		{"sawtooth", func(p float64) float64 { return 2*p - 1 }, 4.7712},
		{"full-wave rectified sine", func(p float64) float64 { return math.Abs(sine(p)) }, 3.0103},
		{"half-wave rectified sine", func(p float64) float64 { return max(0, sine(p)) }, 6.0206},
		{"pulse, a tenth of the time", func(p float64) float64 {
			if p < 0.1 {
				return 1
			}
			return 0
		}, 10},
		{"2 cosines", cosines(2), 6.0206},
		{"4 cosines", cosines(4), 9.0309},
		{"16 cosines", cosines(16), 15.0515},
	} {
		x := fill(c.f)
		r := read(Options{Rate: 48000, Weights: ones(2)}, stages.Block{x, x})
		// The triangle's nearest sample is half a sample off its top: 0.0004 dB.
		near(t, c.name, db(r.SamplePeak/r.RMS), c.want, 0.0005)
	}
}

func TestLevels(t *testing.T) {
	x := []float64{0.5, -0.75, 0.75, 0.25}
	y := []float64{0, 0.75, 0, 0}
	r := read(Options{Rate: 44100, Weights: ones(2)}, stages.Block{x, y})
	want := Reading{
		Frames: 4, SamplePeak: 0.75, PeakFrame: 1, PeakChannel: 0, TruePeak: r.TruePeak,
		Integrated: silence, Range: silence, MaxMomentary: silence, MaxShortTerm: silence,
		SumSquares: 0.25 + 0.5625 + 0.5625 + 0.0625 + 0.5625, RMS: 0.5, DC: []float64{0.1875, 0.1875},
		FirstNonFinite: -1, NonFiniteChannel: -1, WorstOvers: []Over{},
	}
	if !reflect.DeepEqual(r, want) {
		t.Errorf("got  %+v\nwant %+v", r, want)
	}
}

// TestNothing: what a meter says of no signal, and of silence.
func TestNothing(t *testing.T) {
	for _, frames := range []int{0, 1, 100000} {
		r := read(Options{Rate: 44100, Weights: ones(1), Ceiling: 1}, stages.NewBlock(1, frames))
		want := Reading{
			Frames: int64(frames), PeakFrame: -1, PeakChannel: -1,
			Integrated: silence, Range: silence, MaxMomentary: silence, MaxShortTerm: silence, DC: []float64{0},
			FirstNonFinite: -1, NonFiniteChannel: -1, WorstOvers: []Over{},
		}
		if !reflect.DeepEqual(r, want) {
			t.Errorf("%d frames: got  %+v\nwant %+v", frames, r, want)
		}
	}
}

// TestDC: a constant is all offset, and no loudness: the K-weighting has a
// zero at 0 Hz.
func TestDC(t *testing.T) {
	x := make([]float64, 48000*5)
	for i := range x {
		x[i] = 0.25
	}
	y := make([]float64, len(x))
	m := New(Options{Rate: 48000, Weights: ones(2)})
	m.Write(stages.Block{x, y})
	r := m.Reading()
	if r.DC[0] != 0.25 || r.DC[1] != 0 {
		t.Errorf("offsets %v, want 0.25 and 0", r.DC)
	}
	if last := m.loudness.steps[len(m.loudness.steps)-1]; last > 1e-20 {
		t.Errorf("the last 100 ms have a weighted energy of %g", last)
	}
	// Half a frame into a step of samples, the sincs of all but the first add
	// up to 1/2 and that is sinc(1/2) = 2/pi; the top is close by.
	if edge := 0.25 * (1./2 + 2/math.Pi); r.TruePeak < edge-1e-4 || r.TruePeak > edge*1.01 {
		t.Errorf("true peak of a step to 0.25: %g, want a little over %g", r.TruePeak, edge)
	}
}

// TestPeakPlace: the first frame of the largest magnitude, and at one frame
// the first channel, wherever segments and cells begin.
func TestPeakPlace(t *testing.T) {
	for _, c := range []struct {
		marks   [][2]int // channel, frame
		channel int
		frame   int64
	}{
		{[][2]int{{0, 0}}, 0, 0},
		{[][2]int{{1, 440}, {0, 441}}, 1, 440},
		{[][2]int{{0, 200}, {1, 100}}, 1, 100},
		{[][2]int{{0, 200}, {1, 200}}, 0, 200},
		{[][2]int{{1, 71}, {0, 72}, {0, 900}}, 1, 71},
		{[][2]int{{0, 440}, {1, 882}, {0, 1322}}, 0, 440},
		{[][2]int{{1, 1322}}, 1, 1322},
	} {
		b := stages.NewBlock(2, 1323)
		for i, m := range c.marks {
			b[m[0]][m[1]] = float64(1 - 2*(i&1))
		}
		r := read(Options{Rate: 44100, Weights: ones(2)}, b)
		if r.SamplePeak != 1 || r.PeakFrame != c.frame || r.PeakChannel != c.channel {
			t.Errorf("%v: %g at frame %d, channel %d", c.marks, r.SamplePeak, r.PeakFrame, r.PeakChannel)
		}
	}
}

// TestNonFinite: samples that are no numbers are counted and then are zeros.
func TestNonFinite(t *testing.T) {
	b := programme(44100, 4, 9)
	o := Options{Rate: 44100, Weights: ones(2), Ceiling: 0.5}
	bad := []struct {
		channel, frame int
		value          float64
	}{
		{1, 5000, math.NaN()}, {0, 5001, math.Inf(1)}, {0, 5002, math.Inf(-1)}, {1, 90001, math.NaN()},
		{0, 4*44100 - 1, math.NaN()},
	}
	for _, x := range bad {
		b[x.channel][x.frame] = 0
	}
	want := read(o, b)
	want.NonFinite, want.FirstNonFinite, want.NonFiniteChannel = 5, 5000, 1
	for _, x := range bad {
		b[x.channel][x.frame] = x.value
	}
	if got := read(o, b); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// TestHuge: no finite sample, however large, makes a figure infinite, and what
// is far from it still reads as it should.
func TestHuge(t *testing.T) {
	for _, v := range []float64{1e101, -math.MaxFloat64, 1e99, 1e200}[:long.Or(2, 4)] {
		b := programme(44100, 4, 9)
		b[0][1000] = v
		r := read(Options{Rate: 44100, Weights: ones(2), Ceiling: 1}, b)
		if r.NonFinite != 0 || r.Overs != 1 || r.PeakFrame != 1000 {
			t.Errorf("%g: %+v", v, r)
		}
		if want := min(math.Abs(v), huge); r.SamplePeak != want {
			t.Errorf("%g: sample peak %g, want %g", v, r.SamplePeak, want)
		}
		figures := append([]float64{r.TruePeak, r.Integrated, r.Range, r.MaxMomentary, r.MaxShortTerm,
			r.SumSquares, r.RMS}, r.DC...)
		for i, f := range figures {
			if math.IsNaN(f) || math.IsInf(f, 0) {
				t.Errorf("%g: figure %d is %g", v, i, f)
			}
		}
	}
}

// TestOvers compares with sorting all of them.
func TestOvers(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, frames := range []int{1, 5, 441, 1000, 5000} {
		b := stages.NewBlock(3, frames)
		var all []Over
		const ceiling = 0.9
		for c, x := range b {
			for i := range x {
				x[i] = float64(r.IntN(41)-20) / 20 // many of the same, and some just at the ceiling
				if math.Abs(x[i]) > ceiling {
					all = append(all, Over{int64(i), c, x[i]})
				}
			}
		}
		slices.SortFunc(all, func(v, w Over) int {
			if v.worse(w) {
				return -1
			}
			return 1
		})
		got := read(Options{Rate: 44100, Weights: ones(3), Ceiling: ceiling}, b)
		if got.Overs != int64(len(all)) || !slices.Equal(got.WorstOvers, all[:min(10, len(all))]) {
			t.Errorf("%d frames: %d overs, worst %v\nwant %d, %v", frames, got.Overs, got.WorstOvers, len(all),
				all[:min(10, len(all))])
		}
		if none := read(Options{Rate: 44100, Weights: ones(3)}, b); none.Overs != 0 || len(none.WorstOvers) != 0 {
			t.Errorf("%d frames: %d overs without a ceiling", frames, none.Overs)
		}
	}
	worse := [][2]Over{
		{{9, 1, -1.5}, {1, 0, 1.4}},
		{{1, 1, 1.5}, {2, 0, -1.5}},
		{{1, 0, 1.5}, {1, 1, -1.5}},
	}
	for _, w := range worse {
		if !w[0].worse(w[1]) || w[1].worse(w[0]) {
			t.Errorf("%v is to stand before %v", w[0], w[1])
		}
	}
}

func TestWeights(t *testing.T) {
	const s = 1.41
	for _, c := range []struct {
		channels int
		mask     uint32
		want     []float64
	}{
		{1, 0, []float64{1}},
		{2, 0, []float64{1, 1}},
		{4, 0, []float64{1, 1, 1, 1}},
		{5, 0, []float64{1, 1, 1, s, s}},
		{6, 0, []float64{1, 1, 1, 0, s, s}},
		{8, 0, []float64{1, 1, 1, 1, 1, 1, 1, 1}},
		{1, 0x4, []float64{1}},
		{2, 0x3, []float64{1, 1}},
		{4, 0x33, []float64{1, 1, s, s}},
		{5, 0x37, []float64{1, 1, 1, s, s}},
		{6, 0x3f, []float64{1, 1, 1, 0, s, s}},
		{6, 0x60f, []float64{1, 1, 1, 0, s, s}},
		{7, 0x13f, []float64{1, 1, 1, 0, s, s, 1}},
		{8, 0x63f, []float64{1, 1, 1, 0, 1, 1, s, s}},                // back at 135 degrees
		{8, 0xff, []float64{1, 1, 1, 0, s, s, 1, 1}},                 // front wide
		{12, 0x2d63f, []float64{1, 1, 1, 0, 1, 1, s, s, 1, 1, 1, 1}}, // with four above
		{3, 0x3, []float64{1, 1, 1}},                                 // one without a place
		{2, 0x3f, []float64{1, 1}},                                   // more places than channels
		{6, 0x8000003f, []float64{1, 1, 1, 0, s, s}},                 // a reserved bit
		{0, 0, []float64{}},
	} {
		if got := Weights(c.channels, c.mask); !slices.Equal(got, c.want) {
			t.Errorf("Weights(%d, %#x) = %v, want %v", c.channels, c.mask, got, c.want)
		}
	}
}

func TestNewPanics(t *testing.T) {
	for name, o := range map[string]Options{
		"rate":             {Rate: 7999, Weights: ones(1)},
		"high rate":        {Rate: 384001, Weights: ones(1)},
		"no channels":      {Rate: 48000},
		"negative weight":  {Rate: 48000, Weights: []float64{-1}},
		"no weight":        {Rate: 48000, Weights: []float64{math.NaN()}},
		"negative ceiling": {Rate: 48000, Weights: ones(1), Ceiling: -1},
		"infinite ceiling": {Rate: 48000, Weights: ones(1), Ceiling: math.Inf(1)},
	} {
		if !panics(func() { New(o) }) {
			t.Errorf("%s: no panic", name)
		}
	}
	if !panics(func() { New(Options{Rate: 48000, Weights: ones(2)}).Write(stages.NewBlock(1, 1)) }) {
		t.Error("a block of too few channels: no panic")
	}
}

func panics(f func()) (did bool) {
	defer func() { did = recover() != nil }()
	f()
	return false
}
