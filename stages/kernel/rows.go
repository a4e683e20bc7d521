package kernel

import "math"

// RowGroup is what the number of taps of a row is a multiple of.
const RowGroup = 8

// Row is the sum over m of h[m] * x[m]: eight sums, of those that have the same m%8, each in the order of m.
func Row(x, h []float64) float64 {
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
