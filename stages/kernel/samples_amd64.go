//go:build amd64 && !noasm

package kernel

func within(x []float64, limit float64) int {
	n := len(x) &^ 7
	i := 0
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		i = withinAVX512(&x[0], n, limit)
	default:
		i = withinAVX2(&x[0], n, limit)
	}
	if i < n {
		return i
	}
	return n + withinGeneric(x[n:], limit)
}
