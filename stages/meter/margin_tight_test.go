package meter

import (
	"math"
	"testing"
)

// bent is a signal whose second differences are 1 in magnitude, with the signs that raise the
// weighted sum the most, and that sum. Weights that add up to nothing, and whose moments do, make
// of it the sum over second differences of weights that were summed up twice.
func bent(w []float64) (x []float64, sum float64) {
	x = make([]float64, len(w))
	// twice[j] is the weight of the second difference about x[j].
	once, twice := 0.0, make([]float64, len(w)+1)
	for j, v := range w {
		once += v
		twice[j+1] = twice[j] + once
	}
	slope := 0.0
	for j := 1; j < len(x); j++ {
		x[j] = x[j-1] + slope
		slope += math.Copysign(1, twice[j])
	}
	// The straight line through both ends weighs nothing, and takes away what rounding would make of large
	// values.
	last := len(x) - 1
	by := x[last] / float64(last)
	for j := range x {
		x[j] -= by * float64(j)
	}
	return x, valueAt(w, x)
}

// TestMarginsAreTight: bounds that were larger than need be would cost time and change no figure,
// so nothing else would notice. Each allows for a bend little more than some signal takes, which raises a
// point above the line through the known values by as much.
func TestMarginsAreTight(t *testing.T) {
	k := theInterpolator()
	full, rough := k.rows(k.full.Taps), k.rows(k.rough.Taps)
	for _, c := range []struct {
		name  string
		rows  [][]float64
		known []int
		bound margin
	}{
		{"the samples", full, []int{0, grid}, k.cell},
		{"the samples and the rough points", rough, []int{0, grid}, k.samples},
		{"the rough value half way", rough, []int{0, grid / 2, grid}, k.middles},
	} {
		most := 0.0
		for p := range grid + 1 {
			left := 0
			for left+2 < len(c.known) && c.known[left+1] <= p {
				left++
			}
			from, to := c.known[left], c.known[left+1]
			share := float64(p-from) / float64(to-from)
			above := make([]float64, len(c.rows[1+p]))
			for j, w := range c.rows[1+p] {
				above[j] = w - (1-share)*c.rows[1+from][j] - share*c.rows[1+to][j]
			}
			_, sum := bent(above)
			most = max(most, sum)
		}
		t.Logf("%s: a bend of 1 raises a point by %.4f, %.4f are allowed", c.name, most, c.bound.bend)
		if most > c.bound.bend || most < 0.97*c.bound.bend {
			t.Errorf("%s: a bend of 1 raises a point by %.4f, allowed are %.4f", c.name, most, c.bound.bend)
		}
	}
}
