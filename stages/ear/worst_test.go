package ear

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestWorstStretch compares with every stretch of 15 s of the windows, one by one.
func TestWorstStretch(t *testing.T) {
	m := model48()
	for _, windows := range []int{1, 100, 702, 703, 704, 2500} {
		random := rand.New(rand.NewPCG(uint64(windows), 1))
		s := newScore(m)
		if s.length != 703 {
			t.Fatalf("15 s are %d windows", s.length)
		}
		mean, most := make([]float64, windows), make([]float64, windows)
		for i := range mean {
			swell := 1 + math.Sin(float64(i)/300)
			mean[i], most[i] = swell*random.Float64(), 1.5*swell*random.Float64()
			s.add(int64(i+7), mean[i], most[i])
		}
		length := min(windows, 703)
		noise, disturbed := stretch{window: 7}, stretch{window: 7}
		for from := 0; from+length <= windows; from++ {
			a, b := 0.0, 0.0
			for i := from; i < from+length; i++ {
				a += mean[i]
				if most[i] >= math.Pow(10, 0.15) {
					b++
				}
			}
			noise.meet(int64(from+7), a)
			disturbed.meet(int64(from+7), b)
		}
		if math.Abs(s.now.worstNoise.value-noise.value) > 1e-9 || s.now.worstNoise.window != noise.window {
			t.Errorf("%d windows: noise %v, not %v", windows, s.now.worstNoise, noise)
		}
		if s.now.worstDisturbed != disturbed {
			t.Errorf("%d windows: disturbed %v, not %v", windows, s.now.worstDisturbed, disturbed)
		}
	}
}

// TestMoments puts clicks into a tone: each is a moment at its frame, of its channel, and two close together
// are one.
func TestMoments(t *testing.T) {
	const rate = 48000
	before := newBlock(2, 20*rate)
	for n := range before[0] {
		before[0][n] = 0.3 * math.Sin(2*math.Pi*440*float64(n)/rate)
		before[1][n] = before[0][n]
	}
	after := newBlock(2, 20*rate)
	// Each lies in the middle of a window.
	clicks := []struct {
		channel, at int
		size        float64
	}{{0, 58 * 1024, 0.2}, {1, 146 * 1024, 0.4}, {0, 166 * 1024, 0.3}, {1, 390 * 1024, 0.1}}
	copy(after[0], before[0])
	copy(after[1], before[1])
	for _, c := range clicks {
		after[c.channel][c.at] += c.size
	}
	got := read(t, Options{Rate: rate}, before, after)
	if len(got.Moments) != 3 {
		t.Fatalf("moments %+v", got.Moments)
	}
	for i, k := range []int{1, 0, 3} {
		if m := got.Moments[i]; m.Frame != int64(clicks[k].at) || m.Channel != clicks[k].channel ||
			!(m.OverMask > 1.5) {
			t.Errorf("moment %d is %+v, the click %+v", i, m, clicks[k])
		}
	}
	// A click has all frequencies; the ear is weak where it is masked least, far from 440 Hz.
	if b := got.Moments[0].Band; b.From < 1000 {
		t.Errorf("the worst band is %v", b)
	}
}

// TestTenMoments compares with the definition, on all overs at once.
func TestTenMoments(t *testing.T) {
	for seed := range 6 {
		random := rand.New(rand.NewPCG(uint64(seed), 1))
		m := newMoments(model48())
		var all []over
		for i := range 40000 {
			// Of swells of some length, louder ones later or earlier.
			size := (1.1 + math.Sin(float64(i)/float64(10+1000*seed))) * (1 + 1e-5*float64((i*(seed-3))))
			o := over{int64(i)*1024 + random.Int64N(2048), size + float64(random.IntN(10)), random.IntN(2), 3}
			m.meet(o)
			all = append(all, o)
			if random.IntN(1+seed*100) == 0 {
				m.heard()
			}
			if len(m.sure) > 5000 || len(m.unsure) > 5000 {
				t.Fatalf("%d and %d overs are kept", len(m.sure), len(m.unsure))
			}
		}
		m.heard()
		var want []over
		for len(want) < mostMoments {
			worst := over{}
			for _, o := range all {
				if (worst.over == 0 || o.order(worst) < 0) && !slices.ContainsFunc(want, func(w over) bool {
					return math.Abs(float64(w.frame-o.frame)) < 48000
				}) {
					worst = o
				}
			}
			want = append(want, worst)
		}
		if got := m.found(); !slices.Equal(got, want) {
			t.Errorf("seed %d: %v, not %v", seed, got, want)
		}
	}
}
