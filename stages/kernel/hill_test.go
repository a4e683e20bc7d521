package kernel

import (
	"math"
	"slices"
	"testing"
)

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

var _ = math.Abs
