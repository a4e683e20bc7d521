package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// tones is a sum of tones: each has an amplitude, radians a value and a phase at value 0.
type tones [][3]float64

// at is the sum and its first two derivatives at x values.
func (s tones) at(x float64) (v, d1, d2 float64) {
	for _, tone := range s {
		a, turn := tone[0], tone[1]
		sin, cos := math.Sincos(turn*x + tone[2])
		v, d1, d2 = v+a*cos, d1-a*turn*sin, d2-a*turn*turn*cos
	}
	return v, d1, d2
}

// top is the peak within a value of x that has the sign and is the furthest from 0.
func (s tones) top(x, sign float64) (at, height float64) {
	const fine = 64
	height = math.Inf(-int(sign))
	for i := -fine; i <= fine; i++ {
		here := x + float64(i)/fine
		if v, _, _ := s.at(here); sign*v > sign*height {
			at, height = here, v
		}
	}
	a, b := at-1.0/fine, at+1.0/fine
	for range 50 { // the slope changes its sign once between them
		at = (a + b) / 2
		if _, d1, _ := s.at(at); sign*d1 > 0 {
			a = at
		} else {
			b = at
		}
	}
	height, _, _ = s.at(at)
	return at, height
}

const stood = 40 // the value, of those of twice, around which a peak is

// twice is a rate with the values of tones at twice the track's rate, as if they had been interpolated.
func twice(s tones) *Rate {
	r := NewInterpolator(2, Steep, 8192).At(2)
	for i := range 2 * stood {
		r.values[i], _, _ = s.at(float64(i - stood))
	}
	return r
}

// turning is radians a value of a frequency in kHz at a track's rate of 44.1 kHz.
func turning(f float64) float64 { return math.Pi * kHz(f) }

// peak reports whether the value that is in the middle is a peak among its neighbours, the last of equal
// ones, by its sign, and where the parabola through the three has its peak, in values after it.
func (r *Rate) peak() (sign, guess float64, ok bool) {
	a, b, d := r.values[stood-1], r.values[stood], r.values[stood+1]
	sign = math.Copysign(1, b)
	return sign, 0.5 * (a - d) / ((a - b) + (d - b)), sign*b >= sign*a && sign*b > sign*d
}

// look is the summit at the value in the middle, in values after it; it has the value's sign, is no
// lower, and less than a value away.
func look(t *testing.T, s tones, r *Rate) (at, height float64) {
	t.Helper()
	top := r.Summit(stood, 1, (*[3]float64)(r.values[stood-1:]))
	at = top.At - stood
	sign, _, _ := r.peak()
	if !(math.Abs(at) < 1) || !(sign*top.Height >= sign*r.values[stood]) {
		t.Errorf("%v: %v after a value, %v high, where that is %v", s, at, top.Height, r.values[stood])
	}
	return at, top.Height
}

// A tone's peak lies where its phase says, and is as high as the tone: the sinc is short of it by as
// much as its window lets through, which is the most at the band's edge. Where it lies is told by the
// slope, which changes by the square of radians a value: of a slow tone it is known less well.
func TestSummitOfTones(t *testing.T) {
	long.Only(t, "TestSummitOfSumsOfTones has several at once")
	random := rand.New(rand.NewPCG(3, 13))
	for _, c := range []struct{ f, height, slope float64 }{
		{0.02, -150, 3e-7}, {0.1, -150, 3e-7}, {0.5, -150, 3e-7}, {1, -150, 3e-7}, {2, -150, 3e-7}, {5, -150, 3e-7},
		{10, -150, 3e-7}, {15, -145, 3e-7}, {18, -145, 3e-7}, {20, -145, 3e-7}, {21, -145, 3e-7},
		{21.5, -145, 3e-7},
		{22, -127, 2e-6},
	} {
		height, slope, seen := 0.0, 0.0, 0
		turn := turning(c.f)
		times := long.Or(40, 300)
		for i := range times {
			want, sign := random.Float64()-0.5, float64(1-2*(i%2))
			if i < 2 {
				want = -0.5 // between two equal values
			}
			s := tones{{sign, turn, -turn * want}}
			r := twice(s)
			if _, _, ok := r.peak(); !ok {
				continue // by rounding
			}
			seen++
			at, v := look(t, s, r)
			height = max(height, math.Abs(v-sign))
			slope = max(slope, math.Abs(at-want)*turn*turn)
		}
		t.Logf("%5.2f kHz: height off by %.1f dB, position by %.1e values", c.f, dB(height), slope/turn/turn)
		if seen < times-5 || !(dB(height) < c.height) || !(slope < c.slope) {
			t.Errorf("%v kHz, %d peaks: off by %.1f dB, want %v; by a slope of %.1e, want %.1e", c.f, seen,
				dB(height), c.height, slope, c.slope)
		}
	}
}

// Of two tones and more a parabola through three values tells now and then little of where the peak
// is. The summit is that of the tones all the same, also where a neighbour of the other sign is further from
// 0.
func TestSummitOfSumsOfTones(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 14))
	for _, n := range long.Or([]int{5}, []int{2, 3, 5, 20}) {
		off, slope, seen, misled, opposed := 0.0, 0.0, 0, 0, 0
		for range long.Or(600, 8000) {
			var s tones
			sum := 0.0
			for range n {
				a := random.Float64()
				s = append(s, [3]float64{a, turning(21.5 * random.Float64()), 2 * math.Pi * random.Float64()})
				sum += a
			}
			r := twice(s)
			sign, guess, ok := r.peak()
			if !ok {
				continue
			}
			seen++
			want, height := s.top(0, sign)
			if math.Abs(guess-want) > 0.15 {
				misled++
			}
			if b := sign * r.values[stood]; -sign*r.values[stood-1] > b || -sign*r.values[stood+1] > b {
				opposed++
			}
			at, v := look(t, s, r)
			_, d1, _ := s.at(at)
			off, slope = max(off, math.Abs(v-height)/sum), max(slope, math.Abs(d1)/sum)
		}
		t.Logf("%d tones: off by %.1f dB, by a slope of %.1e, at %d peaks, %d of them misleading", n, dB(off),
			slope, seen, misled)
		if !(dB(off) < -140) || !(slope < 1e-4) {
			t.Errorf("%d tones: off by %.1f dB, by a slope of %.1e", n, dB(off), slope)
		}
		if seen < long.Or(75, 1000) || misled < long.Or(1, 20) || opposed < long.Or(1, 10) {
			t.Errorf("%d tones: %d peaks, %d misleading, %d opposed: too few to tell", n, seen, misled, opposed)
		}
	}
}

// Pairs of tones whose parabola points far away from the peak: of the first to where nothing rises
// to a peak, of the second to the slope down to a trough that is further from 0.
func TestSummitWhereTheParabolaMisleads(t *testing.T) {
	for _, s := range []tones{
		{{0.8507, 0.3062, 0.9364}, {0.2205, 0.9601, 4.7420}},
		{{0.3924, 1.2875, 5.1758}, {0.7317, 0.6047, 1.7451}},
	} {
		r := twice(s)
		sign, guess, ok := r.peak()
		want, height := s.top(0, sign)
		if !ok || math.Abs(guess-want) < 0.3 {
			t.Fatalf("%v: the peak at %v is guessed at %v, %v", s, want, guess, ok)
		}
		at, v := look(t, s, r)
		if !(dB(v-height) < -140) || !(math.Abs(at-want) < 1e-5) {
			t.Errorf("%v: %v high at %v, want %v at %v", s, v, at, height, want)
		}
	}
}
