package ear

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
)

// loudAndQuiet is two channels: noise that swells and falls silent, and the same later and softer.
func loudAndQuiet(frames int) block {
	b := newBlock(2, frames)
	u := uint32(5)
	for n := range frames {
		u = 1664525*u + 1013904223
		level := max(0, float64((n/700)%23)/23-0.2)
		b[0][n] = level * (float64(u)/(1<<31) - 1)
		if n >= 333 {
			b[1][n] = b[0][n-333] / 2
		}
	}
	return b
}

// clipped is b with what is beyond limits cut off.
func clipped(b block, limits ...float64) block {
	c := newBlock(len(b), len(b[0]))
	for i := range b {
		c[i] = each(b[i], clamp(limits[i%len(limits)]))
	}
	return c
}

// read is the reading of two signals written at once.
func read(t *testing.T, o Options, signals ...block) Reading {
	t.Helper()
	o.Channels = len(signals[0])
	r := NewReader(o)
	r.Write(signals...)
	r.End()
	reading, ok := r.Reading(0)
	if !ok {
		t.Fatal("no reading")
	}
	return reading
}

// TestBlocks: how the signal is cut into blocks, and reading in between, changes nothing.
func TestBlocks(t *testing.T) {
	before := loudAndQuiet(50003)
	after := clipped(before, 0.5, 0.3)
	comparisons := []Comparison{
		{Before: 0, After: 1}, {Before: 0, After: 1, Waveform: true}, {Before: 1, After: 0},
	}
	var want []Reading
	for seed := range 4 {
		random := rand.New(rand.NewPCG(uint64(seed), 1))
		r := NewReader(Options{Rate: 44100, Channels: 2, Comparisons: comparisons})
		for from := 0; from < len(before[0]); {
			to := len(before[0])
			if seed > 0 {
				to = min(to, from+random.IntN(5000))
			}
			r.Write(slice(before, from, to), slice(after, from, to))
			if seed > 1 {
				r.Reading(0)
			}
			from = to
		}
		if seed == 3 {
			r.End()
		}
		var got []Reading
		for i := range comparisons {
			reading, ok := r.Reading(i)
			if !ok {
				t.Fatal("no reading")
			}
			got = append(got, reading)
		}
		if want == nil {
			want = got
		} else if !reflect.DeepEqual(got, want) {
			t.Errorf("in blocks: %v, not %v", got, want)
		}
	}
}

// TestWindowsThatCount: those before the first and after the last place where something is heard do not.
func TestWindowsThatCount(t *testing.T) {
	const n = 2048
	five := func(b block, c, at int, sum float64) {
		for i := range 5 {
			b[c][at+i] = sum / 5
		}
	}
	loud := 200.1 / 32768
	for _, c := range []struct {
		name        string
		frames      int
		first, last int // frames at which five samples are loud
		windows     int64
	}{
		{"one place, in two windows", 20000, 3000, 3000, 2},
		{"the first frames, in one window", 20000, 0, 0, 1},
		{"one in the first part of the first window, one in its second", 20000, 10, 1500, 2},
		{"across the middle of windows", 20000, 2046, 2046, 1},
		{"all of a signal that fills two windows", 3 * n / 2, 0, 3*n/2 - 5, 2},
		{"a frame more", 3*n/2 + 1, 0, 3*n/2 - 4, 3},
		{"less than a window", 100, 0, 50, 1},
		{"just one window", n, 0, 50, 1},
		{"quiet in between", 50 * 1024, 3000, 40000, 40000/1024 - 3000/1024 + 2},
	} {
		before := newBlock(2, c.frames)
		five(before, 0, c.first, loud)
		five(before, 1, c.last, -loud)
		got := read(t, Options{Rate: 48000}, before, clipped(before, 1))
		if got.Windows != c.windows {
			t.Errorf("%s: %d windows, not %d", c.name, got.Windows, c.windows)
		}
		if !math.IsInf(got.NoiseToMask.Value, -1) || got.Disturbed.Value != 0 || len(got.Moments) != 0 {
			t.Errorf("%s: nothing was done, and the reading is %+v", c.name, got)
		}
	}
}

// TestNoReading: none of nothing, of silence, of what is too soft to count, and beyond 200 kHz.
func TestNoReading(t *testing.T) {
	soft := newBlock(1, 10000)
	for n := range soft[0] {
		soft[0][n] = 39.9 / 32768
	}
	noise := loudAndQuiet(20000)[:1]
	for _, c := range []struct {
		name   string
		rate   int
		before block
	}{
		{"nothing", 48000, newBlock(1, 0)},
		{"silence", 48000, newBlock(1, 10000)},
		{"soft", 48000, soft},
		{"rate", 384000, noise},
	} {
		r := NewReader(Options{Rate: c.rate, Channels: 1})
		r.Write(c.before, newBlock(1, len(c.before[0])))
		if got, ok := r.Reading(0); ok {
			t.Errorf("%s: a reading %+v", c.name, got)
		}
		r.End()
		if got, ok := r.Reading(0); ok {
			t.Errorf("%s: at the end a reading %+v", c.name, got)
		}
	}
}

// TestChannels: a channel that was left alone takes nothing from the figures of the other.
func TestChannels(t *testing.T) {
	both := loudAndQuiet(60000)
	after := clipped(both, 0.02, 1)
	got := read(t, Options{Rate: 48000}, both, after)
	alone := read(t, Options{Rate: 48000}, both[:1], after[:1])
	if got.NoiseToMask != alone.NoiseToMask || got.Disturbed != alone.Disturbed ||
		!reflect.DeepEqual(got.Moments, alone.Moments) {
		t.Errorf("%+v, of the channel alone %+v", got, alone)
	}
	if !math.IsInf(got.Channels[1].NoiseToMask.Value, -1) || got.NoiseToMask.Channel != 0 {
		t.Errorf("channels %+v", got.Channels)
	}
	turned := read(t, Options{Rate: 48000}, block{both[1], both[0]}, block{after[1], after[0]})
	if turned.NoiseToMask.Channel != 1 || turned.NoiseToMask.Value != got.NoiseToMask.Value ||
		turned.Moments[0].Channel != 1 {
		t.Errorf("with the channels exchanged %+v", turned)
	}
}

// TestMaskOfTheFirst: a comparison of later signals is against the mask of the first, which is what the whole
// is compared with too.
func TestMaskOfTheFirst(t *testing.T) {
	x := loudAndQuiet(40000)
	y, z := clipped(x, 0.5), clipped(x, 0.3)
	o := Options{
		Rate: 48000, Channels: 2, Comparisons: []Comparison{
			{Before: 0, After: 2}, {Before: 1, After: 2}, {Before: 0, After: 1},
		},
	}
	r := NewReader(o)
	r.Write(x, y, z)
	var got [3]Reading
	for i := range got {
		got[i], _ = r.Reading(i)
	}
	if want := read(t, Options{Rate: 48000}, x, z); !reflect.DeepEqual(got[0], want) {
		t.Errorf("the whole is %+v, not %+v", got[0], want)
	}
	if want := read(t, Options{Rate: 48000}, x, y); !reflect.DeepEqual(got[2], want) {
		t.Errorf("the first stage is %+v, not %+v", got[2], want)
	}
	if !(got[1].NoiseToMask.Value < got[0].NoiseToMask.Value) {
		t.Errorf("the second stage is %+v, the whole %+v", got[1], got[0])
	}
}

// TestWaveform: of a difference with another phase the magnitudes tell less; one that is another signal
// altogether reads the same whether it is added or taken off.
func TestWaveform(t *testing.T) {
	x := loudAndQuiet(40000)
	turned := block{each(x[0], func(v float64) float64 { return -v }), x[1]}
	o := Options{Rate: 48000, Comparisons: []Comparison{{Before: 0, After: 1, Waveform: true}}}
	if got := read(t, Options{Rate: 48000}, x, turned).NoiseToMask.Value; got > -80 {
		t.Errorf("of the same with its sign flipped the magnitudes differ by %v dB", got)
	}
	got, single := read(t, o, x, turned).NoiseToMask.Value,
		read(t, o, x, block{make([]float64, 40000), x[1]}).NoiseToMask.Value
	near(t, "of twice the difference, more than of once", got-single, 20*math.Log10(2), 1e-9)
}

// TestHigherRates: the figures of one signal at other rates are those at 48 kHz. Values made apart from this
// project, in numpy, agreed to 0.01 dB.
func TestHigherRates(t *testing.T) {
	at := func(rate int) Reading {
		x, y := make([]float64, 3*rate), make([]float64, 3*rate)
		for n := range x {
			at := float64(n) / float64(rate)
			swell := 0.5 + 0.4*sine(1.5, at)
			x[n] = swell * chord(n, at)
			y[n] = x[n] + 0.002*swell*sine(3000, at)
		}
		return read(t, Options{Rate: rate}, block{x}, block{y})
	}
	want := at(48000)
	for _, rate := range []int{96000, 192000} {
		got := at(rate)
		near(t, "noise to mask", got.NoiseToMask.Value, want.NoiseToMask.Value, 0.01)
		near(t, "disturbed", got.Disturbed.Value, want.Disturbed.Value, 0.01)
		if got.Moments[0].Band != want.Moments[0].Band {
			t.Errorf("the worst band is %v, not %v", got.Moments[0].Band, want.Moments[0].Band)
		}
	}
}

// TestLowerRates: the bands end at half the rate.
func TestLowerRates(t *testing.T) {
	for _, rate := range []int{8000, 11025, 16000, 22050, 32000, 36000, 44100} {
		m := NewModel(rate, 0, LevelDBSPL)
		last := m.Band(m.Bands() - 1)
		if top := min(18000, float64(rate)/2); math.Abs(last.To-top) > 25 || (rate >= 36000) != (m.Bands() == 109) {
			t.Errorf("%d Hz: %d bands, the last %v", rate, m.Bands(), last)
		}
		x := loudAndQuiet(20000)
		if got := read(t, Options{Rate: rate}, x, clipped(x, 0.3)); math.IsNaN(got.NoiseToMask.Value) ||
			math.IsInf(got.NoiseToMask.Value, 0) {
			t.Errorf("%d Hz: %v", rate, got.NoiseToMask)
		}
	}
}

// TestHostileSamples: the figures stay numbers, and the windows after them are as they would be.
func TestHostileSamples(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), 1e300, -1e160, 1e20} {
		x := loudAndQuiet(80000)
		y := clipped(x, 0.3)
		last := func() (w Window) {
			o := Options{Rate: 48000, EachWindow: func(v Window) { w = v }}
			for _, f := range []Figure{read(t, o, x, y).NoiseToMask, read(t, o, x, y).WorstNoise} {
				if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
					t.Errorf("%v: %v", bad, f)
				}
			}
			return w
		}
		want := last()
		x[0][5000], x[1][5000] = bad, bad
		if got := last(); !(math.Abs(got.Mean/want.Mean-1) <= 1e-9) {
			t.Errorf("after %v: %+v, not %+v", bad, got, want)
		}
	}
}
