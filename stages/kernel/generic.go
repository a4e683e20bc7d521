package kernel

import "math"

//choose:asm &y[0], &x[0], &f.taps[0], len(f.taps), len(y)/Group
func filterGeneric(f *Filter, y, x []float64) {
	n := len(f.taps)
	for ; len(y) > 0; y, x = y[Group:], x[Group:] {
		var sums [2][Group]float64
		for class := range 8 {
			for m := class; m < n&^7; m += 8 {
				addGroup(&sums[m/8%2], (*[Group]float64)(x[m:]), f.taps[m])
			}
		}
		for m := n &^ 7; m < n; m++ {
			addGroup(&sums[0], (*[Group]float64)(x[m:]), f.taps[m])
		}
		for i := range Group {
			y[i] = sums[0][i] + sums[1][i]
		}
	}
}

// addGroup adds a*x[i] to y[i].
func addGroup(y, x *[Group]float64, a float64) {
	for i := 0; i < Group; i += 8 {
		s, v := (*[8]float64)(y[i:]), (*[8]float64)(x[i:])
		s[0], s[1] = math.FMA(a, v[0], s[0]), math.FMA(a, v[1], s[1])
		s[2], s[3] = math.FMA(a, v[2], s[2]), math.FMA(a, v[3], s[3])
		s[4], s[5] = math.FMA(a, v[4], s[4]), math.FMA(a, v[5], s[5])
		s[6], s[7] = math.FMA(a, v[6], s[6]), math.FMA(a, v[7], s[7])
	}
}

//choose:asm &y[0], &a[0], &b[0], len(a)
func zipGeneric(y, a, b []float64) {
	for i, v := range a {
		y[2*i], y[2*i+1] = v, b[i]
	}
}

//choose:asm &y[0], &x[0], n
//choose:whole 8 y
//choose:rest y[n:], x[2*n:]
func evensGeneric(y, x []float64) {
	for i := range y {
		y[i] = x[2*i]
	}
}

//choose:asm &y[0], &x[0], a, n
//choose:whole 8 x
//choose:rest y[n:], x[n:], a
func addScaledGeneric(y, x []float64, a float64) {
	for i, v := range x {
		y[i] = math.FMA(a, v, y[i])
	}
}

//choose:asm &y[0], &x[0], stride, w, n
//choose:whole 8 y
//choose:rest y[n:], x[n:], stride, w
func addScaledRowsGeneric(y, x []float64, stride int, w *[4]float64) {
	for k, a := range w {
		addScaledGeneric(y, x[k*stride:][:len(y)], a)
	}
}

//choose:asm &y[0], &x[0], w, len(y)/8
func addScaled16Generic(y, x []float64, w *[16]float64) {
	for ; len(y) > 0; y, x = y[8:], x[16*8:] {
		for k, a := range w {
			addScaledGeneric(y[:8], x[8*k:][:8], a)
		}
	}
}

//choose:asm c, rows, &y[0]
func combineGeneric(c *[12]float64, rows *[12][12]float64, y *[12]float64) {
	*c = [12]float64{}
	for j, v := range y {
		for d, w := range &rows[j] {
			c[d] = math.FMA(w, v, c[d])
		}
	}
}

//choose:asm &x[0], n
//choose:whole 32 x
//choose:rest x[n:]
//choose:join max(m, moreM)
func maxAbsGeneric(x []float64) (m float64) {
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

//choose:asm &x[at], n, aim, give, (*byte)(unsafe.Pointer(&mask[0]))
//choose:unless n == 0
//choose:first mask[(n-1)/64] = 0
func peaksGeneric(x []float64, at, n int, aim, give float64, mask []uint64) {
	clear(mask[:(n+63)/64])
	for i := range n {
		a, b, d := x[at+i-1], x[at+i], x[at+i+1]
		if math.Signbit(b) {
			a, b, d = -a, -b, -d
		}
		left, right := b-a, b-d
		bow, slope := left+right, a-d
		if top := float64(give*bow) + (b - aim); left >= 0 && right > 0 &&
			math.FMA(top, bow, float64(slope*slope)*0.25) > 0 {
			mask[i/64] |= 1 << (i % 64)
		}
	}
}

//choose:asm &x[at], n, level, (*byte)(unsafe.Pointer(&over[0])), (*byte)(unsafe.Pointer(&under[0])), (*byte)(unsafe.Pointer(&turns[0]))
//choose:unless n == 0
//choose:first over[(n-1)/64], under[(n-1)/64], turns[(n-1)/64] = 0, 0, 0
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
		top := b - float64(((a-b)+(d-b))*0.25)
		if b <= 0 && a < b && d <= b && top > 0 || b > 0 && b < a && b <= d && top <= 0 {
			turns[i/64] |= bit
		}
	}
}

//choose:asm &y[0], &x[0], len(x), level
func addBeyondGeneric(y, x []float64, level float64) {
	for i, v := range x {
		y[i] += v - min(max(v, -level), level)
	}
}

//choose:asm &x[0], len(x), (*byte)(unsafe.Pointer(&mask[0]))
//choose:first mask[(len(x)-1)/64] = 0
func nonZeroGeneric(mask []uint64, x []float64) {
	clear(mask[:(len(x)+63)/64])
	for i, v := range x {
		if v != 0 {
			mask[i/64] |= 1 << (i % 64)
		}
	}
}
