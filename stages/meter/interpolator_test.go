package meter

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// TestPoints: the points are the interpolation of a wave by a windowed sinc, so they
// are a wave again: for one of up to a quarter of the doubled rate they are off by less
// than 1e-4.
func TestPoints(t *testing.T) {
	k := theInterpolator()
	for _, f := range []float64{0.001, 0.05, 0.1, 0.2, 0.227} {
		for phase := range 8 {
			wave := func(at float64) float64 { return math.Cos(2*math.Pi*f*at + float64(phase)) }
			for d := -1; d <= 9; d++ {
				got := 0.0
				for j, h := range k.taps[1+d] {
					got += h * wave(float64(j))
				}
				near(t, fmt.Sprintf("%g of the rate, point %d", f, d), got, wave(6+float64(d)/8), 1e-4)
			}
		}
	}
}

// TestEighths: the points folded into sums and differences are the points.
func TestEighths(t *testing.T) {
	k := theInterpolator()
	u := noise(19, 3)
	for h := range 8 {
		var points []float64
		for d := range 9 {
			points = append(points, 0)
			for j, v := range u[h:][:12] {
				points[d] += k.taps[1+d][j+1] * v
			}
		}
		var top, step float64
		for d, p := range points {
			top = max(top, math.Abs(p))
			if d > 0 {
				step = max(step, math.Abs(p-points[d-1]))
			}
		}
		bound := top + step/8
		if k.eighths.MayPass(u, bound*(1-1e-12))>>h&1 == 0 || k.eighths.MayPass(u, bound*(1+1e-12))>>h&1 == 1 {
			t.Errorf("pair %d: not bounded by %g", h, bound)
		}
	}
}

// TestMiddle: the filter's taps are in the order of the samples, and the value half
// way is that of a wave.
func TestMiddle(t *testing.T) {
	k := theInterpolator()
	for _, d := range []struct {
		bandlimit.Doubler
		upTo, within float64
	}{{k.full, 21 / 44.1, 2e-4}, {k.rough, 15 / 44.1, 1e-3}} {
		n := len(d.Taps) / 2
		for _, part := range []float64{0.01, 0.3, 1} {
			f := part * d.upTo
			x := make([]float64, 2*n+kernel.Group)
			tone(x, 1, f, 1)
			y := make([]float64, kernel.Group)
			d.Between(y, x, n-1)
			for i, v := range y {
				want := math.Sin(2*math.Pi*f*(float64(n+i)-0.5) + 1)
				near(t, fmt.Sprintf("%d taps, %g of the rate", 2*n, f), v, want, d.within)
			}
		}
	}
}
