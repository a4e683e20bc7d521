package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What TakeNear takes of a tone is nothing up to 21.3/44.1 of the rate and all of it from 21.7/44.1 on, and
// nothing comes of it at other frequencies; of noise it takes what the transform has there, but for the
// flank.
func TestTakeNear(t *testing.T) {
	const frames = 2048
	w := NewWholeBand()
	for _, c := range []struct{ at, gain float64 }{
		{0, 0}, {1000, 0}, {5000, 0}, {9000, 0}, {11025, 0}, {16537, 0}, {17500, 0}, {19000, 0}, {20500, 0},
		{21000, 0}, {21290, 0}, {21500, 0.5}, {21705, 1}, {21800, 1}, {22000, 1}, {22050, 1},
	} {
		x := make([]float64, NearBefore+frames+NearAfter)
		for i := range x {
			x[i] = math.Cos(2*math.Pi*c.at/44100*float64(i-NearBefore) + 0.25)
		}
		y := make([]float64, frames)
		w.TakeNear(y, x, func(int) float64 { return 1 })
		off := 0.0
		for i, v := range y {
			off = max(off, math.Abs(v+c.gain*x[NearBefore+i]))
		}
		if off > 3e-6 {
			t.Errorf("%g of 44100 Hz: off by %g", c.at, off)
		}
	}
	random := rand.New(rand.NewPCG(7, 7))
	x := make([]float64, WholeFrames)
	for i := range x {
		x[i] = random.NormFloat64()
	}
	w.Shaped(x, x, newShaping(20.9/44.1, 21.3/44.1, 1, 0))
	y := make([]float64, frames)
	if left := w.TakeNear(y, x[6000-NearBefore:], func(int) float64 { return 1 }); left != 0 {
		t.Errorf("of a gain of 1 %g is left", left)
	}
	for i, v := range y {
		if math.Abs(v) > 1e-5 {
			t.Fatalf("frame %d: %g of noise that ends before", i, v)
		}
	}
}

// MostHigh is no less than what High leaves, of tones and of noise, and beside its flank not four times that.
func TestMostHigh(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	w := NewWholeBand()
	const from, n = 3072, 10240
	for _, hz := range []float64{0, 5000, 15000, 18000, 19500, 20250, 20300, 20400, 20600, 21000, 21600, 22050} {
		x, high := make([]float64, WholeFrames), make([]float64, WholeFrames)
		for i := range x {
			if x[i] = math.Sin(2*math.Pi*hz/44100*float64(i) + 0.5); hz == 0 {
				x[i] = random.NormFloat64()
			}
		}
		w.Shaped(high, x, High())
		highest, most := 0.0, 0.0
		for i := from; i < from+n; i++ {
			highest, most = max(highest, math.Abs(high[i])), max(most, math.Abs(x[i]))
		}
		beside := hz < 20200 || hz > 20300
		if got := w.MostHigh(x, from, n); got+HighRest*most < highest || beside && got > 4*highest+HighRest*most {
			t.Errorf("%g Hz: bound %g of %g", hz, got, highest)
		}
	}
}
