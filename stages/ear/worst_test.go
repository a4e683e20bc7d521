package ear

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
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

// TestMoments puts clicks into a tone: each is a moment at its frame, of its channel, and two close together are one.
func TestMoments(t *testing.T) {
	const rate = 48000
	before := stages.NewBlock(2, 20*rate)
	for n := range before[0] {
		before[0][n] = 0.3 * math.Sin(2*math.Pi*440*float64(n)/rate)
		before[1][n] = before[0][n]
	}
	after := stages.NewBlock(2, 20*rate)
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
		if m := got.Moments[i]; m.Frame != int64(clicks[k].at) || m.Channel != clicks[k].channel || !(m.OverMask > 1.5) {
			t.Errorf("moment %d is %+v, the click %+v", i, m, clicks[k])
		}
	}
	// A click has all frequencies; the ear is weak where it is masked least, far from 440 Hz.
	if b := got.Moments[0].Band; b.From < 1000 {
		t.Errorf("the worst band is %v", b)
	}
}

// TestTenMoments: of many, the ten worst in their order.
func TestTenMoments(t *testing.T) {
	m := moments{apart: 48000}
	random := rand.New(rand.NewPCG(1, 1))
	var sizes []float64
	for i := range 40 {
		o := over{frame: int64(i) * 100000, over: 1 + random.Float64()}
		sizes = append(sizes, o.over)
		m.meet(o)
		m.meet(over{frame: o.frame + 1000, over: 1.0001}) // a neighbour that is less
	}
	for i, o := range m.now.worst {
		more := 0
		for _, v := range sizes {
			if v > o.over {
				more++
			}
		}
		if more != i {
			t.Errorf("moment %d is %v, and %d are worse", i, o.over, more)
		}
	}
}
