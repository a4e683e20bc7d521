package kernel

import (
	"math"
	"testing"
)

func TestWithin(t *testing.T) {
	for _, limit := range []float64{0.5, 0.95, 2, 1e200, math.Inf(1)} {
		agree(t, run{upTo(33), 0, odd, func(m maker, y, x []float64) (out []float64) {
			for from := range x {
				out = append(out, float64(Within(x[from:], limit)))
			}
			return out
		}})
	}
}

// TestWithinCounts: up to the limit itself, and not past what is no number.
func TestWithinCounts(t *testing.T) {
	above := math.Nextafter(0.5, 1)
	for _, bad := range []float64{above, -above, math.NaN(), math.Inf(1), math.Inf(-1)} {
		for at := range 40 {
			x := make([]float64, 40)
			for i := range x {
				x[i] = math.Copysign(0.5, float64(i%2)-0.5)
			}
			x[at], x[39] = bad, bad
			inEachForm(func(form string) {
				if got := Within(x, 0.5); got != at {
					t.Errorf("%s: %v at %d: %d values within", form, bad, at, got)
				}
			})
		}
	}
}

func TestTaken(t *testing.T) {
	for _, ceiling := range []float64{0.1, 0.5, 3} {
		agree(t, run{upTo(33), 0, odd, func(m maker, y, x []float64) []float64 {
			for i := range x {
				if m.IntN(3) > 0 {
					y[i] = x[i]
				}
			}
			touched, cut, removed := Taken(x, y, ceiling)
			return []float64{float64(touched), cut, removed}
		}})
	}
}

// TestTakenBooks compares with the definitions.
func TestTakenBooks(t *testing.T) {
	in := []float64{0.9, -0.8, 0.3, 1e200, math.Inf(1), math.NaN(), 0.5, 0.25, 0, 0.7}
	out := []float64{0.6, -0.8, 0.1, 0.5, 0.5, math.NaN(), 0.5, 0.5, math.Copysign(0, -1), 0.7}
	inEachForm(func(form string) {
		touched, cut, removed := Taken(in, out, 0.5)
		if touched != 5 || cut != 0.9/0.6 || math.Abs(removed-(0.3*0.3+0.2*0.2+0.25*0.25)) > 1e-15 {
			t.Errorf("%s: %d touched, cut %v, removed %v", form, touched, cut, removed)
		}
		if touched, cut, removed = Taken(nil, nil, 0.5); touched != 0 || cut != 1 || removed != 0 {
			t.Errorf("%s: nothing: %d touched, cut %v, removed %v", form, touched, cut, removed)
		}
	})
}

func TestClamp(t *testing.T) {
	for _, ceiling := range []float64{0.1, 0.5, 3} {
		agree(t, run{upTo(33), 0, odd, func(m maker, y, _ []float64) []float64 {
			s := [8]float64{1, 2, 3}
			touched, top := Clamp(y, ceiling, &s)
			return append(s[:], float64(touched), top)
		}})
	}
}

// TestClampBooks compares with the definitions, at every place of a stretch.
func TestClampBooks(t *testing.T) {
	inf, nan := math.Inf(1), math.Float64frombits(0x7ff8000000000123)
	for _, c := range []struct {
		in, out  float64
		touched  int
		top, off float64
	}{
		{0.5, 0.5, 0, 0, 0}, {-0.5, -0.5, 0, 0, 0}, {math.Copysign(0, -1), math.Copysign(0, -1), 0, 0, 0},
		{0.75, 0.5, 1, 0.75, 0.25}, {-2, -0.5, 1, 2, 1.5},
		{1e200, 0.5, 1, 0, 0}, {-inf, -0.5, 1, 0, 0}, {nan, nan, 0, 0, 0},
	} {
		inEachForm(func(form string) {
			for at := range 19 {
				x, s := make([]float64, 19), [8]float64{}
				x[at] = c.in
				touched, top := Clamp(x, 0.5, &s)
				if math.Float64bits(x[at]) != math.Float64bits(c.out) || touched != c.touched || top != c.top {
					t.Errorf("%s: %v at %d became %v, %d touched, top %v", form, c.in, at, x[at], touched, top)
				}
				var want [8]float64
				if want[at%8] = c.off * c.off; s != want {
					t.Errorf("%s: %v at %d: squares %v, want %v", form, c.in, at, s, want)
				}
			}
		})
	}
}

func TestQuantise(t *testing.T) {
	for _, top := range []float64{127, 100, 1e9, 0} {
		agree(t, run{upTo(33), 0, odd, func(m maker, y, x []float64) []float64 {
			return []float64{float64(Quantise(x, y, 128, -top-1, top))}
		}})
	}
}

// TestQuantiseRounds: to even, and never to -0.
func TestQuantiseRounds(t *testing.T) {
	inEachForm(func(form string) {
		x := []float64{0.25, 0.75, -0.25, -0.75, 1.25, -1, 0.1, 0, 0.25}
		want := []float64{0, 1, 0, -1, 1, -1, 0, 0, 0.25}
		if n := Quantise(x, make([]float64, 9), 2, -2, 3); n != 8 {
			t.Errorf("%s: %d of 9 values", form, n)
		}
		for i, v := range x {
			if math.Float64bits(v) != math.Float64bits(want[i]) {
				t.Errorf("%s: value %d became %v, want %v", form, i, v, want[i])
			}
		}
	})
}

func TestTriangular(t *testing.T) {
	agree(t, run{upTo(33), 0, odd, func(m maker, y, x []float64) []float64 {
		Triangular(y, m.Uint64())
		return nil
	}})
}

// coded are random bytes for so many frames, and a few more.
func (m maker) coded(frames int) []byte {
	p := make([]byte, 6*frames+16)
	for i := range p {
		p[i] = byte(m.Uint32())
	}
	return p
}

func TestDecode24(t *testing.T) {
	agree(t, run{upTo(17), 0, odd, func(m maker, y, x []float64) []float64 {
		Decode24(y, x, m.coded(len(y))[m.IntN(16):])
		return nil
	}})
}

func TestEncode24(t *testing.T) {
	agree(t, run{upTo(17), 0, odd, func(m maker, y, x []float64) (out []float64) {
		p := m.coded(len(y))
		from := m.IntN(16)
		n := Encode24(p[from:], y, x)
		clear(p[from+6*n : from+6*len(y)]) // it may have written there
		for _, b := range p {
			out = append(out, float64(b))
		}
		return append(out, float64(n))
	}})
}

// TestEncode24Edges: codes end at -2^23 and 2^23-1, and ties go to the even code.
func TestEncode24Edges(t *testing.T) {
	const code = 0x1p-23
	for _, c := range []struct {
		x    float64
		want int32
		ok   bool
	}{
		{-1, -1 << 23, true}, {-1 - code/2, -1 << 23, true}, {math.Nextafter(-1-code/2, -2), 0, false},
		{1 - code, 1<<23 - 1, true}, {math.Nextafter(1-code/2, 0), 1<<23 - 1, true}, {1 - code/2, 0, false},
		{1, 0, false},
		{code / 2, 0, true}, {3 * code / 2, 2, true}, {-code / 2, 0, true}, {math.Copysign(0, -1), 0, true},
		{math.NaN(), 0, false}, {math.Inf(1), 0, false}, {math.Inf(-1), 0, false}, {1e300, 0, false},
		{-300, 0, false}, {512, 0, false},
	} {
		for at := range 8 {
			inEachForm(func(form string) {
				var of [2][4]float64
				of[at%2][at/2] = c.x
				p := make([]byte, 24)
				n := Encode24(p, of[0][:], of[1][:])
				if (n == 4) != c.ok {
					t.Errorf("%s: %v in place %d: %d frames encoded", form, c.x, at, n)
				}
				got := int32(p[3*at])<<8 | int32(p[3*at+1])<<16 | int32(p[3*at+2])<<24
				if c.ok && got>>8 != c.want {
					t.Errorf("%s: %v in place %d: code %d, want %d", form, c.x, at, got>>8, c.want)
				}
				if c.ok {
					var back [2][4]float64
					Decode24(back[0][:], back[1][:], p)
					if v := back[at%2][at/2]; v != float64(c.want)*code {
						t.Errorf("%s: code %d in place %d decodes to %v", form, c.want, at, v)
					}
				}
			})
		}
	}
}
