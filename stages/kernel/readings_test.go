package kernel

import (
	"math"
	"slices"
	"testing"
)

// TestWeighingRecursion: four frames at once are what one frame after the other is.
func TestWeighingRecursion(t *testing.T) {
	sections := [2]Section{{0.8, 0.1, -0.2, 0.7, -0.4}, {0.99, 0.01, -1e-5, -0.3, 0.05}}
	w := NewWeighing(sections)
	m := newMaker(1)
	x, y := m.values(447), m.values(447)
	var got States
	var sums [2]float64
	for from := 0; from < len(x); {
		to := min(len(x), from+1+m.IntN(100))
		a, b := w.Sum(x[from:to], y[from:to], &got)
		sums[0], sums[1] = sums[0]+a, sums[1]+b
		from = to
	}
	for c, in := range [][]float64{x, y} {
		var s [2][2]float64
		want := 0.0
		for _, v := range in {
			out := v
			for i, k := range sections {
				out += k.First*s[i][0] + k.Second*s[i][1]
				s[i] = [2]float64{k.Stay*s[i][0] + k.Over*s[i][1], k.Back*s[i][0] + k.Stay*s[i][1] + v}
			}
			want += out * out
		}
		if math.Abs(sums[c]/want-1) > 1e-13 {
			t.Errorf("channel %d: %.15g, want %.15g", c, sums[c], want)
		}
		for i := range s {
			for k := range s[i] {
				if d := got[4*i+2*k+c] - s[i][k]; math.Abs(d) > 1e-12 {
					t.Errorf("channel %d: state %d of section %d is %g off", c, k, i, d)
				}
			}
		}
	}
}

// TestScanFinds compares with the definitions.
func TestScanFinds(t *testing.T) {
	const cells = 5
	m := newMaker(2)
	x, taps := m.values(EdgeTaps-1+cells*Cell), m.values(EdgeTaps)
	peaks, bends := make([]float64, cells), make([]float64, cells)
	sum, squares := Scan(x[EdgeTaps-3:], peaks, bends)
	var wantSum, wantSquares float64
	for k := range cells {
		var peak, bend, edge float64
		for i := EdgeTaps - 1 + k*Cell; i < EdgeTaps-1+(k+1)*Cell; i++ {
			wantSum += x[i]
			wantSquares += x[i] * x[i]
			peak = max(peak, math.Abs(x[i]))
			bend = max(bend, math.Abs(x[i]-2*x[i-1]+x[i-2]))
			d := 0.0
			for j, w := range taps {
				d += w * x[i-EdgeTaps+1+j]
			}
			edge += d * d
		}
		if peaks[k] != peak || math.Abs(bends[k]-bend) > 1e-15 {
			t.Errorf("cell %d: %g and %g, want %g and %g", k, peaks[k], bends[k], peak, bend)
		}
		if got := Edge((*[EdgeTaps - 1 + Cell]float64)(x[k*Cell:]),
			(*[EdgeTaps]float64)(taps)); math.Abs(got/edge-1) > 1e-13 {
			t.Errorf("cell %d: edge %g, want %g", k, got, edge)
		}
	}
	if math.Abs(sum-wantSum) > 1e-12 || math.Abs(squares/wantSquares-1) > 1e-14 {
		t.Errorf("sums %g and %g, want %g and %g", sum, squares, wantSum, wantSquares)
	}
}

// TestScanTellsNumbers: what is no number, or infinite, shows in the squares, wherever
// it is.
func TestScanTellsNumbers(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for at := range 2 * Cell {
			x := newMaker(3).values(2 + 2*Cell)
			x[2+at] = bad
			if _, squares := Scan(x, make([]float64, 2), make([]float64, 2)); squares <= math.MaxFloat64 {
				t.Errorf("%g at %d: squares %g", bad, at, squares)
			}
		}
	}
}

// TestAboveBits: bit by bit, and a limit itself is not above it.
func TestAboveBits(t *testing.T) {
	x := newMaker(4).values(32)
	x[5], x[6], x[7] = 0.5, -0.5, math.Nextafter(-0.5, -1)
	set := Above((*[32]float64)(x), 0.5)
	for i, v := range x {
		if want := math.Abs(v) > 0.5; set>>i&1 == 1 != want {
			t.Errorf("%g: bit %v", v, !want)
		}
	}
}

// TestMayPassPoints: with each limit, what passes is what the points say that the taps
// describe.
func TestMayPassPoints(t *testing.T) {
	m := newMaker(5)
	e := new(Eighths)
	for i := range e.Even {
		copy(e.Even[i][:], m.values(4))
		copy(e.Odd[i][:3], m.values(3))
	}
	u := m.values(19)
	for h := range 8 {
		v := u[h:]
		points := []float64{v[5], 0, 0, 0, 0, 0, 0, 0, v[6]}
		for p := range 4 {
			for i := range e.Even {
				even, odd := e.Even[i][p]*(v[5-i]+v[6+i]), e.Odd[i][p]*(v[5-i]-v[6+i])
				points[1+p] += even + odd
				if p < 3 {
					points[7-p] += even - odd
				}
			}
		}
		var top, step float64
		for i, p := range points {
			top = max(top, math.Abs(p))
			if i > 0 {
				step = max(step, math.Abs(p-points[i-1]))
			}
		}
		bound := top + step/8
		if e.MayPass(u, bound*(1-1e-14))>>h&1 == 0 || e.MayPass(u, bound*(1+1e-14))>>h&1 == 1 {
			t.Errorf("pair %d does not pass up to %g", h, bound)
		}
	}
}

// TestFilterSums: the sums of whole numbers are exact in any order.
func TestFilterSums(t *testing.T) {
	m := newMaker(4)
	whole := func(n int) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(m.IntN(2001) - 1000)
		}
		return x
	}
	for _, n := range filterTaps {
		taps, x, y := whole(n), whole(3*Group+n), make([]float64, 3*Group)
		inEachForm(func(form string) {
			NewFilter(taps).Apply(y, x)
			for i, got := range y {
				want := 0.0
				for k, h := range taps {
					want += float64(h * x[i+k])
				}
				if got != want {
					t.Fatalf("%s, %d taps: [%d] is %v, want %v", form, n, i, got, want)
				}
			}
		})
	}
}

// TestFilterAnywhere: a value has the same bits wherever it lies, and with however many
// others it is computed.
func TestFilterAnywhere(t *testing.T) {
	const values = 5 * Group
	m := newMaker(5)
	for _, n := range filterTaps {
		f, x := NewFilter(m.values(n)), m.values(values+n)
		y, part := make([]float64, values), make([]float64, 3*Group)
		inEachForm(func(form string) {
			f.Apply(y, x)
			for from := range Group + 1 {
				for at := Group; at <= len(part); at += Group {
					f.Apply(part[:at], x[from:])
					if !slices.Equal(part[:at], y[from:][:at]) {
						t.Fatalf("%s, %d taps: %d values from %d on are others", form, n, at, from)
					}
				}
			}
		})
	}
}
