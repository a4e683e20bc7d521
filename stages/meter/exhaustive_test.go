package meter

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/kernel"
	"ledgerline/stages/stagetest/long"
)

// exhaustivePeak works out every point: the same taps, no bounds, no cells.
func exhaustivePeak(b stages.Block) float64 {
	k := theInterpolator()
	var top float64
	for _, x := range b {
		n := (len(x) + 2*reach + kernel.Group) / kernel.Group * kernel.Group
		padded := make([]float64, reach+halfTaps+n+halfTaps+kernel.Group)
		copy(padded[reach+halfTaps:], x)
		middles, u := make([]float64, n), make([]float64, 2*n)
		k.full.Between(middles, padded, halfTaps)
		kernel.Zip(u, padded[halfTaps:][:n], middles)
		for i := range len(u) - 13 {
			here, _ := k.top(u[i:])
			top = max(top, here)
		}
		for _, s := range x {
			top = max(top, math.Abs(s))
		}
	}
	return top
}

// TestTruePeakIsExhaustive: what is skipped could not have mattered, to the
// last bit, for signals of every temper.
func TestTruePeakIsExhaustive(t *testing.T) {
	signals := map[string]stages.Block{
		"nothing":   {{}},
		"silence":   {make([]float64, 1000)},
		"one":       {{-0.3}},
		"two":       {{0.3, 0.31}},
		"impulse":   {append(make([]float64, 500), 1, 0, 0)},
		"programme": programme(44100, 0.7, 1),
	}
	loud := programme(44100, 0.7, 2)
	scale(loud, 5)
	clip(loud, 0.8)
	signals["clipped programme"] = loud
	rising := programme(44100, 0.5, 3)
	for _, x := range rising {
		for i := range x {
			x[i] *= math.Exp(float64(i) / 1500)
		}
	}
	signals["rising programme"] = rising
	for seed := range uint64(4) {
		signals[fmt.Sprint("noise ", seed)] = stages.Block{
			noise(700*int(seed)+73, seed), noise(700*int(seed)+73, seed+10),
		}
	}
	for seed := range uint64(long.Or(8, 40)) {
		x := odd(seed)
		signals[fmt.Sprint("odd ", seed)] = stages.Block{x}
	}
	for name, b := range signals {
		want := exhaustivePeak(b)
		for _, rate := range []int{8000, 11025, 44100} {
			if got := read(Options{Rate: rate, Weights: ones(len(b))}, b).TruePeak; got != want {
				t.Errorf("%s at %d Hz: true peak %.17g, working out everything finds %.17g", name, rate, got, want)
			}
		}
	}
}

// odd is a signal made of what is hard to bound: signs that alternate or not,
// spikes in silence, plateaus, beats near half the rate, values that almost
// repeat.
func odd(seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	x := make([]float64, 1+r.IntN(1500))
	for from := 0; from < len(x); {
		part := x[from:min(len(x), from+1+r.IntN(200))]
		level := math.Pow(10, -2*r.Float64())
		switch r.IntN(6) {
		case 0:
			for i := range part {
				part[i] = level * float64(1-2*r.IntN(2))
			}
		case 1:
			part[r.IntN(len(part))] = level
		case 2:
			for i := range part {
				part[i] = level
			}
		case 3:
			tone(part, level, 0.4+0.1*r.Float64(), 6*r.Float64())
		case 4:
			tone(part, level, 0.1*r.Float64(), 6*r.Float64())
		case 5:
			for i := range part {
				part[i] = level * (1 - 2*float64(i&1)) * (1 + 1e-12*r.Float64())
			}
		}
		from += len(part)
	}
	return x
}

// TestMargins: the worst signals for each point are still within the bounds: those
// whose every sample has the sign of the sample's weight, or of how far that differs
// from the rough one. They also show that the plain bound is no larger than it must be.
func TestMargins(t *testing.T) {
	k := theInterpolator()
	rows, rough := k.rows(k.full.Taps), k.rows(k.rough.Taps)
	var most float64
	for i := 1; i < len(rows)-1; i++ {
		worst, apart := make([]float64, len(rows[i])), make([]float64, len(rows[i]))
		for j, w := range rows[i] {
			worst[j], apart[j] = math.Copysign(1, w), math.Copysign(1, w-rough[i][j])
		}
		for _, x := range [][]float64{worst, apart} {
			peak := summit(valueAt(rows[i-1], x), valueAt(rows[i], x), valueAt(rows[i+1], x))
			most = max(most, peak)
			withinMargins(t, k, x, rough, peak)
		}
	}
	if most > k.gain || most < 0.9*k.gain {
		t.Errorf("the worst signal peaks at %g, bound %g", most, k.gain)
	}
}

func valueAt(row, x []float64) (sum float64) {
	for j, w := range row {
		sum += w * x[j]
	}
	return sum
}

// withinMargins checks the bounds of a peak of x, whose samples are of magnitude 1, with x[reach] anywhere in
// a cell.
func withinMargins(t *testing.T, k *interpolator, x []float64, rough [][]float64, peak float64) {
	t.Helper()
	a := aroundAll(x, &k.edge)
	roughPeak := 0.0
	for j := 1; j < len(rough)-1; j++ {
		roughPeak = max(roughPeak, summit(valueAt(rough[j-1], x), valueAt(rough[j], x), valueAt(rough[j+1], x)))
	}
	for _, m := range []struct {
		name   string
		margin margin
		known  float64
	}{
		{"the samples", k.cell, 1},
		{"the samples and the rough points", k.samples, 1},
		{"the rough value half way", k.middles, max(1, math.Abs(valueAt(rough[1+grid/2], x)))},
		{"the rough points", k.points, roughPeak},
	} {
		if bound := m.known + m.margin.bend*a.bend + m.margin.edge*math.Sqrt(a.edge) + m.margin.rest; peak > bound {
			t.Errorf("a peak of %g, beyond the bound of %g by %s", peak, bound, m.name)
		}
	}
}

// aroundAll is what x is like around x[reach], wherever in its cell that is: the least of each.
func aroundAll(x []float64, edge *[kernel.EdgeTaps]float64) (a around) {
	for j := 2; j < len(x); j++ {
		a.bend = max(a.bend, math.Abs((x[j]+x[j-2])-2*x[j-1]))
	}
	var squares []float64 // of what ends at x[len(edge)-1] and after
	for j := range len(x) - len(edge) + 1 {
		d := valueAt(edge[:], x[j:])
		squares = append(squares, d*d)
	}
	a.edge = math.Inf(1)
	for place := range cellFrames {
		sum := 0.0
		for j, v := range squares {
			sum += v * shares[(nearby*cellFrames+place-reach+len(edge)-1+j)/cellFrames]
		}
		a.edge = min(a.edge, sum)
	}
	return a
}

// TestEdgeMargin: the signals for which a value half way differs the most from the rough one, by how much
// there is near half the rate, are within what that allows, and nearly reach it.
func TestEdgeMargin(t *testing.T) {
	k := theInterpolator()
	weights := slices.Clone(k.full.Taps)
	for i, h := range k.rough.Taps {
		weights[halfTaps-roughTaps+i] -= h
	}
	spread, most := max(k.spread(0), k.spread(1)), 0.0
	for n := -3; n < cellFrames+3; n++ {
		share := func(at int) float64 { return shares[min((nearby*cellFrames+at)/cellFrames, len(shares)-1)] }
		x := make([]float64, len(weights)+2*(kernel.EdgeTaps-1)) // from sample first of the cell on
		first, top := n-halfTaps+1-(kernel.EdgeTaps-1), 0.0
		for i, w := range weights {
			at := kernel.EdgeTaps - 1 + i
			x[at] = w / share(first+at+kernel.EdgeTaps/2)
			top = max(top, math.Abs(x[at]))
		}
		a := around{}
		for i := range len(x) - kernel.EdgeTaps + 1 {
			d := valueAt(k.edge[:], x[i:])
			a.edge += share(first+i+kernel.EdgeTaps-1) * d * d
		}
		apart := valueAt(weights, x[kernel.EdgeTaps-1:])
		bound := (k.points.edge*math.Sqrt(a.edge) + k.points.rest*top) / spread
		if apart > bound {
			t.Errorf("value %d: %g apart, beyond the bound of %g", n, apart, bound)
		}
		most = max(most, apart/bound)
	}
	if most < 0.9 {
		t.Errorf("no signal reaches more than %.3g of the bound", most)
	}
}
