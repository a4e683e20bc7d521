package kernel

import "math"

// filterGeneric adds up row by row: in each whole strip of 32 rows the first and those eight, sixteen and
// 24 behind it, then the second, and so on. To value i of eight, row r gives tap r-i.
func filterGeneric(f *Filter, y, x []float64) {
	for ; len(y) > 0; y, x = y[Group:], x[Group:] {
		var sums [2][Group]float64
		n := len(f.rows) / 8
		for r := range n {
			if strip := r &^ 31; strip+32 <= n {
				r = strip + r%4*8 + r%32/4
			}
			row, sum := (*[8]float64)(f.rows[8*r:]), &sums[r%2]
			for i := 0; i < Group; i += 8 {
				addScaledEight((*[8]float64)(sum[i:]), row, x[r+i])
			}
		}
		for i := range y[:Group] {
			y[i] = sums[0][i] + sums[1][i]
		}
	}
}

func addScaledEight(y, x *[8]float64, a float64) {
	y[0], y[1] = math.FMA(a, x[0], y[0]), math.FMA(a, x[1], y[1])
	y[2], y[3] = math.FMA(a, x[2], y[2]), math.FMA(a, x[3], y[3])
	y[4], y[5] = math.FMA(a, x[4], y[4]), math.FMA(a, x[5], y[5])
	y[6], y[7] = math.FMA(a, x[6], y[6]), math.FMA(a, x[7], y[7])
}

func zipGeneric(y, a, b []float64) {
	for i, v := range a {
		y[2*i], y[2*i+1] = v, b[i]
	}
}

func evensGeneric(y, x []float64) {
	for i := range y {
		y[i] = x[2*i]
	}
}

func addScaledGeneric(y, x []float64, a float64) {
	for i, v := range x {
		y[i] = math.FMA(a, v, y[i])
	}
}

func addScaledRowsGeneric(y, x []float64, stride int, w *[4]float64) {
	for k, a := range w {
		addScaledGeneric(y, x[k*stride:][:len(y)], a)
	}
}

func addScaled16Generic(y, x []float64, w *[16]float64) {
	for ; len(y) > 0; y, x = y[8:], x[16*8:] {
		for k, a := range w {
			addScaledGeneric(y[:8], x[8*k:][:8], a)
		}
	}
}

func combineGeneric(c *[12]float64, rows *[12][12]float64, y *[12]float64) {
	*c = [12]float64{}
	for j, v := range y {
		for d, w := range &rows[j] {
			c[d] = math.FMA(w, v, c[d])
		}
	}
}

func maxAbsGeneric(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		if v < 0 {
			v = -v
		}
		if v > m {
			m = v
		}
	}
	return m
}

func firstPeakGeneric(x []float64, from, to int, aim float64) int {
	for i := from; i < to; i++ {
		a, b, d := x[i-1], x[i], x[i+1]
		if math.Signbit(b) {
			a, b, d = -a, -b, -d
		}
		if quarter := ((a - b) + (d - b)) * 0.25; a <= b && d < b && b-quarter-quarter > aim {
			return i
		}
	}
	return to
}

func beyondGeneric(x []float64, at, n int, level float64, over, under, turns []uint64) {
	clear(over[:(n+63)/64])
	clear(under[:(n+63)/64])
	clear(turns[:(n+63)/64])
	for i := range n {
		v, bit := x[at+i], uint64(1)<<(i%64)
		if v > level {
			over[i/64] |= bit
		}
		if v < -level {
			under[i/64] |= bit
		}
		a, b, d := x[at+i-2], x[at+i-1], v
		if math.Signbit(b) {
			a, b, d = -a, -b, -d
		}
		a, b, d = a-level, b-level, d-level
		top := b - ((a-b)+(d-b))*0.25
		if b <= 0 && a < b && d <= b && top > 0 || b > 0 && b < a && b <= d && top <= 0 {
			turns[i/64] |= bit
		}
	}
}

func addBeyondGeneric(y, x []float64, level float64) {
	for i, v := range x {
		y[i] += v - min(max(v, -level), level)
	}
}

func nonZeroGeneric(mask []uint64, x []float64) {
	clear(mask[:(len(x)+63)/64])
	for i, v := range x {
		if v != 0 {
			mask[i/64] |= 1 << (i % 64)
		}
	}
}
