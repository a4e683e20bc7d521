package meter

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
)

// exhaustivePeak works out every point: the same taps, no bounds, no cells.
func exhaustivePeak(b stages.Block) float64 {
	k := theInterpolator()
	var top float64
	for _, x := range b {
		const silence = 4 * reach
		padded := make([]float64, silence+len(x)+silence)
		copy(padded[silence:], x)

		u := make([]float64, 0, 2*len(padded))
		for n := halfTaps; n < len(padded)-halfTaps; n++ {
			u = append(u, padded[n], middle((*[2 * halfTaps]float64)(padded[n-halfTaps+1:]), &k.half))
		}
		v := make([]float64, 0, 8*len(u))
		for n := 5; n+7 <= len(u); n++ {
			var p [8]float64
			p[0] = u[n]
			for i := 1; i < 4; i++ {
				p[i], p[8-i] = between(u[n-5:], &k.eighth[i])
			}
			p[4], _ = between(u[n-5:], &k.eighth[4])
			v = append(v, p[:]...)
		}
		for i := 1; i+1 < len(v); i++ {
			top = max(top, summit(v[i-1], v[i], v[i+1]))
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
		signals[fmt.Sprint("noise ", seed)] = stages.Block{noise(700*int(seed)+73, seed), noise(700*int(seed)+73, seed+10)}
	}
	for seed := range uint64(40) {
		x := odd(seed)
		signals[fmt.Sprint("odd ", seed)] = stages.Block{x}
	}
	for name, b := range signals {
		for _, rate := range []int{8000, 11025, 44100} {
			if got, want := read(Options{Rate: rate, Weights: ones(len(b))}, b).TruePeak, exhaustivePeak(b); got != want {
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

// TestMargins: the worst signal for each point, whose every sample has the
// sign of the sample's weight, is still within the bounds. It also shows that
// the plain bound is no larger than it must be.
func TestMargins(t *testing.T) {
	k := theInterpolator()
	const n = reach
	weight := make([][]float64, grid+3) // of each point, sample by sample
	for at := range 2*reach + 2 {
		x := make([]float64, 2*reach+2)
		x[at] = 1
		for i, v := range k.wholeInterval(x, n) {
			weight[i] = append(weight[i], v)
		}
	}
	var most float64
	for i := 1; i < len(weight)-1; i++ {
		x := make([]float64, 2*reach+2)
		for j, w := range weight[i] {
			x[j] = math.Copysign(1, w)
		}
		v := k.wholeInterval(x, n)
		peak := summit(v[i-1], v[i], v[i+1])
		most = max(most, peak)
		if bound := 1 + k.samples.bend*sharpest(x) + k.samples.rest; peak > bound {
			t.Errorf("point %d: %g, beyond the bound of %g", i-1, peak, bound)
		}
		if bound := max(1, math.Abs(v[1+grid/2])) + k.middles.bend*sharpest(x) + k.middles.rest; peak > bound {
			t.Errorf("point %d: %g, beyond the bound of %g when the middle is known", i-1, peak, bound)
		}
	}
	if most > k.samples.gain || most < 0.9*k.samples.gain {
		t.Errorf("the worst signal peaks at %g, bound %g", most, k.samples.gain)
	}
}
