//go:build amd64 && !noasm

package kernel

import (
	"unsafe"

	"golang.org/x/sys/cpu"
)

// What the processor has. Tests change them.
var (
	useAVX512 = cpu.X86.HasAVX512F && cpu.X86.HasAVX512DQ && cpu.X86.HasAVX512VL && useAVX2
	useAVX2   = cpu.X86.HasAVX2 && cpu.X86.HasFMA
)

func filter(f *Filter, y, x []float64) {
	switch {
	case !useAVX2:
		filterGeneric(f, y, x)
	case useAVX512:
		filterAVX512(&y[0], &x[0], &f.taps[0], len(f.taps), len(y)/Group)
	default:
		filterAVX2(&y[0], &x[0], &f.taps[0], len(f.taps), len(y)/Group)
	}
}

func zip(y, a, b []float64) {
	switch {
	case !useAVX2:
		zipGeneric(y, a, b)
	case useAVX512:
		zipAVX512(&y[0], &a[0], &b[0], len(a))
	default:
		zipAVX2(&y[0], &a[0], &b[0], len(a))
	}
}

func evens(y, x []float64) {
	n := len(y) &^ 7
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		evensAVX512(&y[0], &x[0], n)
	default:
		evensAVX2(&y[0], &x[0], n)
	}
	evensGeneric(y[n:], x[2*n:])
}

func addScaled(y, x []float64, a float64) {
	n := len(x) &^ 7
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		addScaledAVX512(&y[0], &x[0], a, n)
	default:
		addScaledAVX2(&y[0], &x[0], a, n)
	}
	addScaledGeneric(y[n:], x[n:], a)
}

func addScaledRows(y, x []float64, stride int, w *[4]float64) {
	n := len(y) &^ 7
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		addScaledRowsAVX512(&y[0], &x[0], stride, w, n)
	default:
		addScaledRowsAVX2(&y[0], &x[0], stride, w, n)
	}
	if n < len(y) {
		addScaledRowsGeneric(y[n:], x[n:], stride, w)
	}
}

func addScaled16(y, x []float64, w *[16]float64) {
	switch {
	case !useAVX2:
		addScaled16Generic(y, x, w)
	case useAVX512:
		addScaled16AVX512(&y[0], &x[0], w, len(y)/8)
	default:
		addScaled16AVX2(&y[0], &x[0], w, len(y)/8)
	}
}

func combine(c *[12]float64, rows *[12][12]float64, y *[12]float64) {
	switch {
	case !useAVX2:
		combineGeneric(c, rows, y)
	case useAVX512:
		combineAVX512(c, rows, &y[0])
	default:
		combineAVX2(c, rows, &y[0])
	}
}

func meet(t *Meeting, y *[12]float64, level float64, c *Crossing) {
	switch m := (*[6]float64)(unsafe.Pointer(c)); {
	case !useAVX2:
		meetGeneric(t, y, level, c)
	case useAVX512:
		meetAVX512(&t[0][0][0], &y[0], level, m)
	default:
		meetAVX2(&t[0][0][0], &y[0], level, m)
	}
}

func meet8(t *Meeting, m *Meetings, n int, x []float64) {
	if n == 1 || !useAVX512 {
		meetEach(t, m, n, x)
		return
	}
	for i := n; i < len(m.At); i++ { // lanes that are not asked for look where the first one does
		m.At[i], m.Level[i] = m.At[0], m.Level[0]
	}
	meet8AVX512(&t[0][0][0], &x[0], &m.At)
}

func addCorner(y *[16]float64, a, b, c *[4][16]float64, w *[12]float64) {
	switch {
	case !useAVX2:
		addCornerGeneric(y, a, b, c, w)
	case useAVX512:
		addCornerAVX512(y, a, b, c, w)
	default:
		addCornerAVX2(y, a, b, c, w)
	}
}

func climb(rows *[20][8]float64, y *[20]float64, top *[4]float64) {
	switch {
	case !useAVX2:
		climbGeneric(rows, y, top)
	case useAVX512:
		climbAVX512(rows, &y[0], top)
	default:
		climbAVX2(rows, &y[0], top)
	}
}

func maxAbs(x []float64) float64 {
	n, m := len(x)&^31, 0.0
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		m = maxAbsAVX512(&x[0], n)
	default:
		m = maxAbsAVX2(&x[0], n)
	}
	if n == len(x) {
		return m
	}
	return max(m, maxAbsGeneric(x[n:]))
}

func peaks(x []float64, at, n int, aim, give float64, mask []uint64) {
	if !useAVX2 || n == 0 {
		peaksGeneric(x, at, n, aim, give, mask)
		return
	}
	mask[(n-1)/64] = 0
	m := (*byte)(unsafe.Pointer(&mask[0]))
	if useAVX512 {
		peaksAVX512(&x[at], n, aim, give, m)
	} else {
		peaksAVX2(&x[at], n, aim, give, m)
	}
}

func beyond(x []float64, at, n int, level float64, over, under, turns []uint64) {
	if !useAVX2 || n == 0 {
		beyondGeneric(x, at, n, level, over, under, turns)
		return
	}
	last := (n - 1) / 64
	over[last], under[last], turns[last] = 0, 0, 0
	o, u, t := (*byte)(unsafe.Pointer(&over[0])), (*byte)(unsafe.Pointer(&under[0])), (*byte)(unsafe.Pointer(&turns[0]))
	if useAVX512 {
		beyondAVX512(&x[at], n, level, o, u, t)
	} else {
		beyondAVX2(&x[at], n, level, o, u, t)
	}
}

func addBeyond(y, x []float64, level float64) {
	switch {
	case !useAVX2:
		addBeyondGeneric(y, x, level)
	case useAVX512:
		addBeyondAVX512(&y[0], &x[0], len(x), level)
	default:
		addBeyondAVX2(&y[0], &x[0], len(x), level)
	}
}

func nonZero(mask []uint64, x []float64) {
	if !useAVX2 {
		nonZeroGeneric(mask, x)
		return
	}
	mask[(len(x)-1)/64] = 0
	m := (*byte)(unsafe.Pointer(&mask[0]))
	if useAVX512 {
		nonZeroAVX512(&x[0], len(x), m)
	} else {
		nonZeroAVX2(&x[0], len(x), m)
	}
}
