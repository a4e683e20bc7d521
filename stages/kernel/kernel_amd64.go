//go:build amd64 && !noasm

package kernel

import "golang.org/x/sys/cpu"

// What the processor has. Tests change them.
var (
	useAVX512 = cpu.X86.HasAVX512F && cpu.X86.HasAVX512DQ && cpu.X86.HasAVX512VL && useAVX2
	useAVX2   = cpu.X86.HasAVX2 && cpu.X86.HasFMA
)

func sumPairs(y, x []float64, at int, p *Pairs) {
	switch {
	case len(p.taps) == 0 || !useAVX2:
		sumPairsGeneric(y, x, at, p)
	case useAVX512:
		sumPairsAVX512(&y[0], &x[at], &p.taps[0], &p.left[0], &p.right[0], len(p.taps))
	default:
		sumPairsAVX2(&y[0], &x[at], &p.taps[0], &p.left[0], &p.right[0], len(p.taps))
	}
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
	return max(m, maxAbsGeneric(x[n:]))
}
