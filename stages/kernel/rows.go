package kernel

import "math"

// RowGroup is what the number of taps of a row is a multiple of.
const RowGroup = 8

// Rows sets y[step*j] to the sum over m of h[m] * x[hop*j+m], for each j < n: eight sums, of those that have
// the same m%8, each in the order of m, which are added up two by two. So the bits of a sum depend neither on
// n nor on where its values lie. The length of h is a multiple of RowGroup. It panics if y or x is too short.
func Rows(y []float64, step int, x []float64, hop int, h []float64, n int) {
	if len(h)%RowGroup != 0 {
		panic("kernel: length is not a multiple of RowGroup")
	}
	if n <= 0 || len(h) == 0 {
		return
	}
	_, _ = y[step*(n-1)], x[hop*(n-1)+len(h)-1]
	rows(y, step, x, hop, h, n)
}

//choose:asm2 &y[0], step, &x[0], hop, &h[0], len(h), n
func rowsGeneric(y []float64, step int, x []float64, hop int, h []float64, n int) {
	for j := range n {
		y[step*j] = row(x[hop*j:][:len(h)], h)
	}
}

func row(x, h []float64) float64 {
	var s [8]float64
	for len(h) >= 8 && len(x) >= 8 {
		a, b := (*[8]float64)(x), (*[8]float64)(h)
		s[0], s[1] = math.FMA(a[0], b[0], s[0]), math.FMA(a[1], b[1], s[1])
		s[2], s[3] = math.FMA(a[2], b[2], s[2]), math.FMA(a[3], b[3], s[3])
		s[4], s[5] = math.FMA(a[4], b[4], s[4]), math.FMA(a[5], b[5], s[5])
		s[6], s[7] = math.FMA(a[6], b[6], s[6]), math.FMA(a[7], b[7], s[7])
		x, h = x[8:], h[8:]
	}
	return ((s[0] + s[4]) + (s[2] + s[6])) + ((s[1] + s[5]) + (s[3] + s[7]))
}
