// Package kernel has the inner loops of the stages.
//
// Each loop exists in Go, always compiled, and as assembly for processors that
// have AVX-512 (F, DQ, VL) or AVX2 with FMA, chosen at run time. All give the same
// bits: products are fused with the sum they go to, in the same order. The build tag
// noasm leaves the assembly out. Package gen writes it.
package kernel

import "slices"

// Tile is the number of values Pairs.Sum computes.
const Tile = 32

// Pairs are the taps of a symmetric filter and where, from a value on, the pairs of
// values stand that each is for.
type Pairs struct {
	taps        []float64
	left, right []int
	low, high   int // the least and the largest of left and right
}

// NewPairs returns the pairs of taps[k] with the values left[k] and right[k]
// further. The slices are of one length and stay the caller's to leave alone.
func NewPairs(taps []float64, left, right []int) Pairs {
	return Pairs{
		taps, left[:len(taps)], right[:len(taps)],
		min(slices.Min(left), slices.Min(right)), max(slices.Max(left), slices.Max(right)),
	}
}

// Sum sets y[i] to the sum over k of taps[k] * (x[at+left[k]+i] + x[at+right[k]+i])
// for i < Tile, adding in the order of k. It panics where y or x are too short.
func (p *Pairs) Sum(y, x []float64, at int) {
	_, _ = y[:Tile], x[at+p.low:at+p.high+Tile]
	sumPairs(y, x, at, p)
}

// AddScaled adds a*x[i] to y[i]. It panics if y is shorter than x.
func AddScaled(y, x []float64, a float64) { addScaled(y[:len(x)], x, a) }

// AddScaledRows adds w[0]*x[i], w[1]*x[stride+i], w[2]*x[2*stride+i] and
// w[3]*x[3*stride+i] to y[i] in that order, for each i. It panics if x is shorter than three
// strides and y.
func AddScaledRows(y, x []float64, stride int, w *[4]float64) {
	addScaledRows(y, x[:3*stride+len(y)], stride, w)
}

// Combine sets c[d] to the sum over j of rows[j][d] * y[j], adding in the order of j.
func Combine(c *[12]float64, rows *[12][12]float64, y *[12]float64) { combine(c, rows, y) }

// MaxAbs is the largest magnitude in x, 0 if it is empty. NaN is passed over.
func MaxAbs(x []float64) float64 { return maxAbs(x) }
