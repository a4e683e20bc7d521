package meter

import (
	"math"
	"testing"
)

// TestScan: four lanes, whatever the length.
func TestScan(t *testing.T) {
	for n := range 40 {
		x := noise(n, uint64(n))
		var sums, squares [4]float64
		var want float64
		for i, v := range x {
			sums[i%4] += v
			squares[i%4] += float64(v * v)
			want = max(want, math.Abs(v))
		}
		s, q, p := scan(x)
		if s != sums[0]+sums[1]+(sums[2]+sums[3]) || q != squares[0]+squares[1]+(squares[2]+squares[3]) || p != want {
			t.Errorf("%d samples: %g %g %g, want lanes %v %v and %g", n, s, q, p, sums, squares, want)
		}
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for at := range 9 {
			x := noise(9, 1)
			x[at] = bad
			if _, q, _ := scan(x); q <= math.MaxFloat64 {
				t.Errorf("%g at %d: squares %g", bad, at, q)
			}
		}
	}
}

func TestSharpest(t *testing.T) {
	for n := 2; n < 40; n++ {
		x := noise(n, uint64(n))
		var want float64
		for i := 2; i < n; i++ {
			want = max(want, math.Abs(x[i]-2*x[i-1]+x[i-2]))
		}
		near(t, "sharpest", sharpest(x), want, 1e-15)
	}
}

// TestWeighPair: side by side gives the bits that one after the other does,
// over several stretches.
func TestWeighPair(t *testing.T) {
	k := newKWeighting(44100)
	var a, b, aa, bb weightState
	for n := range 50 {
		x, y := noise(n, uint64(n)), noise(n, uint64(n+100))
		s, q := weighPair(x, y, &a, &b, &k)
		if s != weigh(x, &aa, &k) || q != weigh(y, &bb, &k) || a != aa || b != bb {
			t.Fatalf("%d samples differ", n)
		}
	}
}

// TestBetween: the folded sums are the plain ones with the windowed sinc.
func TestBetween(t *testing.T) {
	k := theInterpolator()
	u := noise(12, 3)
	for p := 1; p < 5; p++ {
		var behind, before, taps float64
		for i, v := range u {
			h := windowedSinc(float64(p)/8-float64(i-5), eighthReach, eighthShape)
			behind, before, taps = behind+h*v, before+h*u[11-i], taps+h
		}
		gotBehind, gotBefore := between(u, &k.eighth[p])
		near(t, "behind", gotBehind, behind/taps, 1e-15)
		near(t, "before", gotBefore, before/taps, 1e-15)
	}
	x := noise(64, 4)
	var want, taps float64
	for i, v := range x {
		h := windowedSinc(float64(i)-31.5, halfTaps, halfShape)
		want, taps = want+h*v, taps+h
	}
	near(t, "middle", k.middle(x, 31), want/taps, 1e-15)
}

// TestBessel0: I0(0), I0(1) and I0(10), Abramowitz and Stegun Table 9.8 (from
// memory).
func TestBessel0(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, 1: 1.2660658777520084, 10: 2815.716628466254} {
		near(t, "I0", bessel0(x)/want, 1, 1e-15)
	}
}
