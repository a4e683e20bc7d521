package kernel

import "math"

func filterGeneric(f *Filter, y, x []float64) {
	for ; len(y) > 0; y, x = y[Group:], x[Group:] {
		var sums [2][Group]float64
		for m, h := range f.taps {
			// i+m is even where i is as odd as m.
			a, b := &sums[m%2], &sums[1-m%2]
			v := (*[Group]float64)(x[m:])
			for i := 0; i < Group; i += 2 {
				a[i], b[i+1] = math.FMA(h, v[i], a[i]), math.FMA(h, v[i+1], b[i+1])
			}
		}
		for i := range Group {
			y[i] = sums[0][i] + sums[1][i]
		}
	}
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

func peaksGeneric(x []float64, at, n int, aim, give float64, mask []uint64) {
	clear(mask[:(n+63)/64])
	for i := range n {
		a, b, d := x[at+i-1], x[at+i], x[at+i+1]
		if math.Signbit(b) {
			a, b, d = -a, -b, -d
		}
		left, right := b-a, b-d
		bow, slope := left+right, a-d
		if top := float64(give*bow) + (b - aim); left >= 0 && right > 0 && math.FMA(top, bow, float64(slope*slope)*0.25) > 0 {
			mask[i/64] |= 1 << (i % 64)
		}
	}
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
