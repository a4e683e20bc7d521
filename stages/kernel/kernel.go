// Package kernel has the inner loops of the stages.
package kernel

import "math"

// SumPairs sets y[i] to the sum over k of taps[k]*(left[k][i]+right[k][i]) for
// each i, adding in the order of k by fused multiply-add. left[k] and right[k]
// are at least as long as y.
func SumPairs(y, taps []float64, left, right [][]float64) {
	for i := range y {
		y[i] = 0
	}
	for k, h := range taps {
		l, r := left[k][:len(y)], right[k][:len(y)]
		for i := range y {
			y[i] = math.FMA(h, l[i]+r[i], y[i])
		}
	}
}

// AddScaled adds a*x[i] to y[i] by fused multiply-add. y is at least as long as x.
func AddScaled(y, x []float64, a float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] = math.FMA(a, v, y[i])
	}
}

// MaxAbs is the largest magnitude in x, 0 if it is empty. NaN is passed over.
func MaxAbs(x []float64) float64 {
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
