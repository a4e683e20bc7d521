package kernel

import (
	"math"
	"slices"
	"testing"
)

// Hills of which the place is known where they fall to a level, after the peak at 0: the solution of the
// equation.
func TestHillsDescend(t *testing.T) {
	hill := func(h *Hills, i int, sign, level, x float64, c ...float64) {
		for d := range h.C {
			if h.C[d][i] = 0; d < len(c) {
				h.C[d][i] = sign * c[d]
			}
		}
		h.X[i], h.Level[i] = x, level
		h.Height[i] = h.Value(i, x)
	}
	inEachForm(func(form string) {
		for _, sign := range []float64{1, -1} {
			var h Hills
			hill(&h, 0, sign, 0.5, 0, 1, 0, -1)             // 1 - x^2
			hill(&h, 1, sign, 0.25, 0, 1, 0, 0, 0, -1)      // 1 - x^4
			hill(&h, 2, sign, 0.999, 0, 1, 0, -1, 0.25)     // 1 - x^2 + x^3/4: below the level soon
			hill(&h, 3, sign, 0.5, 1, 1, 0, 0.125, 0, -0.5) // of two humps
			h.Descend()
			for i, want := range [][2]float64{
				{math.Sqrt(0.5), math.Sqrt(0.5)},
				{math.Pow(0.75, 0.25), math.Pow(0.75, 0.25)},
			} {
				for side, down := range [2]float64{h.Down[0][i], h.Down[1][i]} {
					if math.Abs(down-want[side]) > 1e-9 || h.Rises[side][i] > 0 {
						t.Errorf("%s, %v: hill %d is down after %v, want %v; rises %v", form, sign, i, down,
							want[side], h.Rises[side][i])
					}
				}
			}
			for side, way := range []float64{-1, 1} {
				down := way * h.Down[side][2]
				if v := 1 - down*down + down*down*down/4; down == 0 || math.Abs(v-0.999) > 1e-9 {
					t.Errorf("%s, %v: the hill is %v high at %v", form, sign, v, down)
				}
			}
			if h.Rises[0][3] < 0 || h.Rises[1][3] > 0 {
				t.Errorf("%s, %v: of two humps, seen from the second, rises are %v", form, sign, h.Rises)
			}
			hill(&h, 0, sign, 0.5, 0, 1, 0, -0.125)      // 1 - x^2/8: not down before 2
			hill(&h, 1, sign, 1.5, 0, 1, 0, -1)          // level above the peak
			hill(&h, 2, sign, 0.5, 0, 1, 0, -math.NaN()) // nothing
			h.Descend()
			for i := range 3 {
				if h.Down[0][i] != 0 || h.Down[1][i] != 0 {
					t.Errorf("%s, %v: hill %d is down after %v and %v", form, sign, i, h.Down[0][i], h.Down[1][i])
				}
			}
		}
	})
}

// A table of weights and values of any kind, at any places.
func TestHills(t *testing.T) {
	for _, of := range [][]float64{odd, {0}} {
		agree(t, run{nothing, 2*hillPairs*HillTerms + 128, of, func(m maker, y, x []float64) (out []float64) {
			var tables [2]HillTable
			for i := range tables {
				for k := range tables[i] {
					x = x[copy(tables[i][k][:], x):]
				}
			}
			for range 8 {
				var h Hills
				var places [hills]int
				for i := range places {
					places[i] = 2*(hillPairs-1) + m.IntN(2*(128-2*hillPairs+1))
				}
				h.Find(&tables, x, &places)
				for i := range h.Level {
					h.Level[i] = h.Height[i] * m.Float64()
				}
				h.Descend()
				for _, c := range h.C {
					out = append(out, c[:]...)
				}
				out = slices.Concat(out, h.X[:], h.Height[:], h.Bend[:], h.Step[:], h.Down[0][:], h.Down[1][:],
					h.Rises[0][:], h.Rises[1][:])
			}
			return out
		}})
	}
}
