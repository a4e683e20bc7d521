package meter

import "math"

// A margin bounds a peak y that is interpolated somewhere between known values
// a, b, ...:
//
//	|y| <= max(|a|, |b|, ...) + bend * (largest second difference around)
//	                          + rest * (largest magnitude around)
//
// y minus the straight line through the two known values about it is a sum
// over the signal whose weights add up to almost nothing. Summing by parts
// twice makes it a sum over second differences, whose weights' magnitudes add
// up to bend, and leaves rest. Programme is smooth from sample to sample, so
// this is far tighter than the plain bound, which is good for a first look:
//
//	|y| <= gain * (largest magnitude around)
type margin struct{ bend, rest, gain float64 }

// findMargins sends unit impulses through the interpolator. What comes out,
// impulse by impulse, is the row of weights that each point has.
func (k *interpolator) findMargins() {
	const length = 2 * (reach + 1)
	rows := make([][]float64, grid+3)
	for at := range length {
		x := make([]float64, length)
		x[at] = 1
		for i, v := range k.wholeInterval(x, length/2-1) {
			rows[i] = append(rows[i], v)
		}
	}
	k.samples, k.middles = newMargin(rows, 1), newMargin(rows, 2)

	rows = make([][]float64, grid/2+3)
	for at := range (around{}) {
		var u around
		u[at] = 1
		for i, v := range k.points(&u) {
			rows[i] = append(rows[i], v)
		}
	}
	k.doubled = newMargin(rows, 1)
	k.doubled.rest *= k.samples.gain // so that it, too, is of the largest sample
}

// wholeInterval are the points at -1/16, 0, ... 16/16, 17/16 of the interval
// between x[n] and x[n+1].
func (k *interpolator) wholeInterval(x []float64, n int) []float64 {
	var middles [7]float64
	for i := range middles {
		middles[i] = k.middle(x, n-3+i)
	}
	u := double(x[n-3:], middles[:])
	halves := u.halves()
	first, second := k.points(halves[0]), k.points(halves[1])
	return append(first[:10], second[2:]...)
}

// newMargin is the margin over all points of an interval when its ends and
// the points that cut it into equal parts are known. rows[i] are the weights
// of point i-1: one point before the interval's first and one behind its last
// are given too, since the parabola through a point and its neighbours rises
// above it by up to an eighth of their second difference.
func newMargin(rows [][]float64, parts int) (m margin) {
	last := len(rows) - 3
	width := last / parts
	for p := 0; p <= last; p++ {
		known := min(p/width, parts-1) * width
		t := float64(p-known) / float64(width)
		row, left, right := rows[p+1], rows[known+1], rows[known+width+1]
		line, arch := make([]float64, len(row)), make([]float64, len(row))
		for j, w := range row {
			line[j] = w - (1-t)*left[j] - t*right[j]
			arch[j] = (2*w - rows[p][j] - rows[p+2][j]) / 8
		}
		bend, rest := byParts(line)
		archBend, archRest := byParts(arch)
		m.bend = max(m.bend, bend+archBend)
		m.rest = max(m.rest, rest+archRest)
		m.gain = max(m.gain, magnitudes(row)+magnitudes(arch))
	}
	return m
}

// byParts bounds sum w[j] x[j] by bend times the largest second difference of
// x plus rest times its largest magnitude.
func byParts(w []float64) (bend, rest float64) {
	var once, twice float64
	for _, v := range w[:len(w)-1] {
		once += v
		bend += math.Abs(twice)
		twice += once
	}
	return bend, math.Abs(once+w[len(w)-1]) + 2*math.Abs(twice)
}

func magnitudes(w []float64) (sum float64) {
	for _, v := range w {
		sum += math.Abs(v)
	}
	return sum
}
