package spectra

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A source makes values, each with guards around it that nothing may write to.
type source struct {
	random *rand.Rand
	made   [][]float64
}

const (
	guard  = -12345.678
	guards = 4
)

// values are n random ones, negative too or not, a few places from where the processor's vectors begin.
func (s *source) values(n int, negative bool) []float64 {
	offset := guards + s.random.IntN(4)
	all := make([]float64, offset+n+guards)
	for i := range all {
		all[i] = guard
	}
	x := all[offset:][:n:n]
	for i := range x {
		x[i] = math.Ldexp(s.random.Float64()+0.1, s.random.IntN(40)-20)
		if negative && s.random.IntN(2) > 0 {
			x[i] = -x[i]
		}
	}
	s.made = append(s.made, all)
	return x
}

// agree runs f in every form on the same values and compares, bit by bit, everything that it may have
// written.
func agree(t *testing.T, name string, f func(s *source)) {
	t.Helper()
	var want [][]float64
	inEachForm(func(form string) {
		s := &source{random: rand.New(rand.NewPCG(1, 2))}
		f(s)
		for k, got := range s.made {
			for i := range got {
				if want != nil && math.Float64bits(got[i]) != math.Float64bits(want[k][i]) {
					t.Fatalf("%s, %s: slice %d [%d] is %v, Go gives %v", name, form, k, i, got[i], want[k][i])
				}
			}
		}
		if want == nil {
			want = s.made
			for _, all := range want {
				for i := range guards {
					if all[i] != guard || all[len(all)-1-i] != guard {
						t.Fatalf("%s, %s: a value outside is written", name, form)
					}
				}
			}
		}
	})
}

func TestFormsOfSteps(t *testing.T) {
	for _, m := range []int{1, 2, 3, 4, 8, 20, 64} {
		agree(t, fmt.Sprintf("First, %d turns", m), func(s *source) {
			First(s.values(4*m, true), s.values(4*m, true), s.values(4*m, true), s.values(4*m, true),
				s.values(6*m, true))
		})
		for _, stride := range []int{1, 2, 4, 6, 16, 20} {
			agree(t, fmt.Sprintf("Strided, %d turns, %d", m, stride), func(s *source) {
				n := 4 * m * stride
				Strided(s.values(n, true), s.values(n, true), s.values(n, true), s.values(n, true),
					s.values(6*m, true), stride)
			})
		}
		for _, n := range []int{2 * m, 16 * m, 16*m + 2} {
			agree(t, fmt.Sprintf("Fold, %d", n), func(s *source) {
				Fold(s.values(n, true), s.values(n, true), s.values(n+1, true), s.values(n+1, true),
					s.values(n/2+1, true), s.values(n/2+1, true))
			})
			agree(t, fmt.Sprintf("Halves, %d", n), func(s *source) {
				Halves(s.values(n, true), s.values(n, true), s.values(n, true), s.values(n, true))
			})
			agree(t, fmt.Sprintf("Unfold, %d", n), func(s *source) {
				Unfold(s.values(n+1, true), s.values(n+1, true), s.values(n, true), s.values(n, true),
					s.values(n/2+1, true), s.values(n/2+1, true))
			})
		}
	}
}

func TestFormsOfValues(t *testing.T) {
	for n := range 30 {
		for _, f := range []struct {
			name string
			run  func(s *source)
		}{
			{"Part", func(s *source) { Part(s.values(n, true), s.values(n, true), s.values(2*n, true)) }},
			{"Join", func(s *source) { Join(s.values(2*n, true), s.values(n, true), s.values(n, true), 0.75, -3) }},
			{"PartTapered", func(s *source) {
				PartTapered(s.values(n, true), s.values(n, true), s.values(2*n, true), s.values(2*n, true))
			}},
			{"Squares", func(s *source) { Squares(s.values(n, true), s.values(n, true), s.values(n, true)) }},
			{"Roots", func(s *source) { Roots(s.values(n, true), s.values(n, false), s.values(n, false)) }},
			{"Raise", func(s *source) { Raise(s.values(n, true), s.values(n, false)) }},
			{"Exp", func(s *source) { Exp(s.values(n, true), s.values(n, true)) }},
			{"Log", func(s *source) { Log(s.values(n, true), s.values(n, false)) }},
			{"Rise", func(s *source) {
				sums := Rise(s.values(4*n, false), s.values(4*n, false))
				s.made = append(s.made, append([]float64{guard, guard, guard, guard},
					append(sums[:], guard, guard, guard, guard)...))
			}},
		} {
			agree(t, fmt.Sprintf("%s, %d", f.name, n), f.run)
		}
	}
}

func TestFormsOfSums(t *testing.T) {
	for n := range 12 {
		agree(t, fmt.Sprintf("Sums, %d", n), func(s *source) {
			var parts []Part4
			used := 0
			for i := range n {
				parts = append(parts, Part4{(7 * i) % 41, 1 + i%4})
				used += 4 * (1 + i%4)
			}
			Sums(s.values(n, true), s.values(60, true), s.values(used, true), parts)
		})
	}
	y := make([]float64, 2)
	Sums(y, []float64{1, 2, 3, 4, 5, 6, 7, 8, 9}, []float64{1, 1, 1, 1, 1, 1, 1, 1, 2, 0, 0, 0},
		[]Part4{{1, 2}, {2, 1}})
	if y[0] != 44 || y[1] != 6 {
		t.Errorf("sums %v", y)
	}
}

func TestSumsRefuse(t *testing.T) {
	for _, p := range []Part4{{-1, 1}, {0, 0}, {5, 1}, {0, 3}, {1, 2}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v is taken", p)
				}
			}()
			Sums(make([]float64, 1), make([]float64, 8), make([]float64, 8), []Part4{p})
		}()
	}
}

// TestDiffer: a difference anywhere is found; 0 and -0 are none.
func TestDiffer(t *testing.T) {
	inEachForm(func(form string) {
		for n := range 50 {
			x, y := make([]float64, n), make([]float64, n)
			for i := range x {
				x[i], y[i] = float64(i), float64(i)
			}
			if n > 0 {
				y[0] = math.Copysign(0, -1)
			}
			if Differ(x, y) {
				t.Fatalf("%s: %d equal values differ", form, n)
			}
			for i := range x {
				y[i] += 1e-9
				if !Differ(x, y) {
					t.Fatalf("%s: of %d values the one at %d does not differ", form, n, i)
				}
				y[i] = x[i]
			}
		}
	})
}

// TestExpAndLog compares with the standard library.
func TestExpAndLog(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	x, y := make([]float64, 4001), make([]float64, 4001)
	inEachForm(func(form string) {
		for i := range x {
			x[i] = 1400*random.Float64() - 700
		}
		Exp(y, x)
		for i := range x {
			if want := math.Exp(x[i]); math.Abs(y[i]-want) > 5e-16*want {
				t.Fatalf("%s: e^%v is %v, not %v", form, x[i], y[i], want)
			}
		}
		for i := range x {
			x[i] = math.Ldexp(random.Float64()+0.5, random.IntN(2000)-1000)
		}
		x[0] = 1
		Log(y, x)
		for i := range x {
			if want := math.Log(x[i]); math.Abs(y[i]-want) > 4e-16*max(math.Abs(want), 1) {
				t.Fatalf("%s: ln %v is %v, not %v", form, x[i], y[i], want)
			}
		}
		if y[0] != 0 {
			t.Errorf("%s: ln 1 is %v", form, y[0])
		}
		Exp(y[:8], []float64{0, 1000, -1000, 700, -700, 0, 0, 0})
		if y[0] != 1 || y[1] != y[3] || y[2] != y[4] {
			t.Errorf("%s: at the ends e^x is %v", form, y[:8])
		}
	})
}

// TestRise compares with the definition.
func TestRise(t *testing.T) {
	inEachForm(func(form string) {
		r, u := []float64{1, 2, 4, 8}, []float64{0.5, 0.5, 0.25, 2}
		sums := Rise(r, u)
		// 1/2+1+1+16, and likewise with the squares, cubes and fourth powers.
		if want := [4]float64{18.5, 33, 64.4375, 128 + 3.0/16 + 1.0/64}; sums != want {
			t.Errorf("%s: sums %v, not %v", form, sums, want)
		}
		if r[0] != 1.0/16 || r[1] != 2.0/16 || r[2] != 4.0/256 || r[3] != 128 {
			t.Errorf("%s: values %v", form, r)
		}
	})
}
