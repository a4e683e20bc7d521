package kernel

import (
	"math"
	"testing"
)

func TestRemoved(t *testing.T) {
	for _, at := range []int{0, 1, 7, -3} {
		agree(t, run{upTo(33), 0, odd, func(m maker, y, x []float64) []float64 {
			s := ([16]float64)(m.values(16))
			for i := range s {
				s[i] = math.Abs(s[i])
			}
			beyond, deep := Removed(x[:len(y)], y, 0.5, 3, at&7, &s)
			if deep {
				beyond += 1000
			}
			return append(s[:], float64(beyond))
		}})
	}
}

// However the samples are cut up, the lanes get the same bits.
func TestRemovedInParts(t *testing.T) {
	inEachForm(func(form string) {
		m := newMaker(3)
		x, y := m.values(500), m.values(500)
		var want [16]float64
		beyond, _ := Removed(x, y, 0.5, 1, 3, &want)
		for _, part := range []int{1, 7, 8, 9, 63} {
			var got [16]float64
			n := 0
			for from := 0; from < len(x); from += part {
				to := min(from+part, len(x))
				more, _ := Removed(x[from:to], y[from:to], 0.5, 1, 3+from, &got)
				n += more
			}
			if got != want || n != beyond {
				t.Errorf("%s, %d at once: %v and %d, want %v and %d", form, part, got, n, want, beyond)
			}
		}
	})
}

// TestRemovedBooks compares with the definitions.
func TestRemovedBooks(t *testing.T) {
	in := []float64{0.9, -0.8, 0.3, 1e200, math.Inf(1), math.NaN(), 0.5, 0.25, 0, 0.7, 0.1}
	out := []float64{0.6, -0.8, 0.1, 0.5, 0.5, math.NaN(), 0.5, 0.5, math.Copysign(0, -1), 0.7, math.Inf(-1)}
	inEachForm(func(form string) {
		var s [16]float64
		beyond, _ := Removed(in, out, 0.5, 1, 0, &s)
		taken, driven := Lanes((*[8]float64)(s[:8])), Lanes((*[8]float64)(s[8:]))
		if beyond != 5 || math.Abs(taken-(0.3*0.3+0.2*0.2+0.25*0.25)) > 1e-15 ||
			math.Abs(driven-(0.9*0.9+0.8*0.8+0.3*0.3+0.5*0.5+0.25*0.25+0.7*0.7)) > 1e-15 {
			t.Errorf("%s: %d beyond, taken %v, driven %v", form, beyond, taken, driven)
		}
	})
}

// Only what is beyond the ceiling is deep, however much less became of it.
func TestRemovedIsDeep(t *testing.T) {
	inEachForm(func(form string) {
		var s [16]float64
		for i := range 21 {
			in, out := make([]float64, 21), make([]float64, 21)
			in[i], out[i], in[20-i/2] = -0.75, 0.25, 0.5
			for _, c := range []struct {
				ceiling, by float64
				want        bool
			}{{0.5, 2.9, true}, {0.5, 3, false}, {0.75, 2, false}, {0.7, math.NaN(), false}} {
				if _, got := Removed(in, out, c.ceiling, c.by, 0, &s); got != c.want {
					t.Errorf("%s: sample %d, beyond %v and by more than %v: %v", form, i, c.ceiling, c.by, got)
				}
			}
		}
	})
}

// What became of a quiet sample is left out of the sums where it is beyond 1e100 or no number, and only
// there.
func TestRemovedWild(t *testing.T) {
	inEachForm(func(form string) {
		for i := range 24 {
			for _, wild := range []float64{1e94, -1e96, 1e100, -1.01e100, 1e160, math.Inf(-1), math.NaN()} {
				in, out := make([]float64, 24), make([]float64, 24)
				for k := range in {
					in[k], out[k] = 0.25, 0.125
				}
				out[i] = wild
				var s, want [16]float64
				for k, x := range in {
					if math.Abs(out[k]) <= 1e100 { // false for NaN
						d := x - out[k]
						want[k%8], want[8+k%8] = math.FMA(d, d, want[k%8]), math.FMA(x, x, want[8+k%8])
					}
				}
				if Removed(in, out, 0.5, 1, 0, &s); s != want {
					t.Errorf("%s: sample %d, %v: %v, want %v", form, i, wild, s, want)
				}
			}
		}
	})
}
