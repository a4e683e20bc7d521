package flac

import (
	"math"

	"ledgerline/stages/portable"
)

// linearOrders are the orders of linear prediction that are tried: 1 to this.
const linearOrders = 12

// quantised is a linear prediction as a frame has it: the sum of by[j] times the sample j+1 before, shifted
// down.
type quantised struct {
	by        []int32
	precision int // bits of a coefficient
	shift     int // 0 to 15
}

// window tapers a block at its ends: flat in its middle half, with a quarter of a raised cosine period at
// each end, so that the ends do not pass for what the block is like.
type window []float64

func newWindow(n int) window {
	w := make(window, n)
	taper := n / 4
	for i := range w {
		w[i] = 1
		if at := min(i, n-1-i); at < taper {
			w[i] = 0.5 - float64(0.5*portable.CosPi((float64(at)+0.5)/float64(taper)))
		}
	}
	return w
}

// quantised finds the linear prediction of x that costs the least. It is false where there is none of use.
func (p *planner) quantised(x []int32, width int) (quantised, bool) {
	if len(p.window) != len(x) {
		p.window = newWindow(len(x))
	}
	p.windowed = sized(p.windowed, len(x))
	for i, v := range x {
		p.windowed[i] = float64(float64(v) * p.window[i])
	}
	r := correlate(p.windowed)
	if !(r[0] > 0) {
		return quantised{}, false
	}
	by, errs := predictions(r)
	precision := 14
	if width > 16 {
		precision = 15
	}
	best, least := 0, math.Inf(1)
	for k := 1; k <= linearOrders; k++ {
		if cost := residualBits(errs[k], len(x), k) + float64(k*(width+precision)); cost < least {
			best, least = k, cost
		}
	}
	return quantise(by[best][:best], precision)
}

// residualBits is about how many bits the residual of an order takes: an error of Laplace's distribution
// whose energy over the block is err takes log2(sqrt(err/n) * ln 2) bits a sample, and never less than one or
// so.
func residualBits(err float64, n, order int) float64 {
	if !(err > 0) {
		return 0
	}
	each := float64(0.5 / math.Ln2 * portable.Log(float64(float64(0.5*math.Ln2*math.Ln2)*err)/float64(n)))
	return float64(max(each, 0) * float64(n-order))
}

// correlate is the autocorrelation of x, which is longer than that, at the lags 0 to linearOrders: each a sum
// from the first product to the last. Several are made at once, as additions wait for those before them.
func correlate(x []float64) (r [linearOrders + 1]float64) {
	n := len(x) - linearOrders
	var a0, a1, a2, a3, a4, a5, a6 float64
	for i, v := range x[:n] {
		z := x[i : i+7 : i+7]
		a0 += float64(v * z[0])
		a1 += float64(v * z[1])
		a2 += float64(v * z[2])
		a3 += float64(v * z[3])
		a4 += float64(v * z[4])
		a5 += float64(v * z[5])
		a6 += float64(v * z[6])
	}
	r[0], r[1], r[2], r[3], r[4], r[5], r[6] = a0, a1, a2, a3, a4, a5, a6
	a0, a1, a2, a3, a4, a5 = 0, 0, 0, 0, 0, 0
	for i, v := range x[:n] {
		z := x[i+7 : i+13 : i+13]
		a0 += float64(v * z[0])
		a1 += float64(v * z[1])
		a2 += float64(v * z[2])
		a3 += float64(v * z[3])
		a4 += float64(v * z[4])
		a5 += float64(v * z[5])
	}
	r[7], r[8], r[9], r[10], r[11], r[12] = a0, a1, a2, a3, a4, a5
	for i := n; i < len(x); i++ {
		for lag := range len(x) - i {
			r[lag] += float64(x[i] * x[i+lag])
		}
	}
	return r
}

// predictions are the predictions of each order, and the energy that each leaves of r[0]: the recursion of
// Levinson and Durbin.
func predictions(r [linearOrders + 1]float64) (by [linearOrders + 1][linearOrders]float64,
	errs [linearOrders + 1]float64) {
	var a [linearOrders]float64
	e := r[0]
	errs[0] = e
	for k := range linearOrders {
		acc := r[k+1]
		for j := range k {
			acc -= float64(a[j] * r[k-j])
		}
		c := 0.0
		if e > 0 {
			c = acc / e
		}
		next := a
		next[k] = c
		for j := range k {
			next[j] = a[j] - float64(c*a[k-1-j])
		}
		a = next
		e = float64(e * (1 - float64(c*c)))
		by[k+1], errs[k+1] = a, e
	}
	return by, errs
}

// quantise rounds a prediction to whole numbers. What each rounding leaves is carried to the next.
func quantise(by []float64, precision int) (quantised, bool) {
	most := 0.0
	for _, v := range by {
		most = max(most, math.Abs(v))
	}
	if !(most > 0) || math.IsInf(most, 0) {
		return quantised{}, false
	}
	_, exponent := math.Frexp(most) // most < 2^exponent
	shift := min(precision-1-exponent, 15)
	if shift < 0 {
		return quantised{}, false
	}
	q := quantised{by: make([]int32, len(by)), precision: precision, shift: shift}
	limit := float64(int(1)<<(precision-1)) - 1
	left := 0.0
	for i, v := range by {
		left += math.Ldexp(v, shift)
		k := max(-limit-1, min(math.RoundToEven(left), limit))
		left -= k
		q.by[i] = int32(k)
	}
	return q, true
}

// linearResidual fills rest with what a prediction misses of x. It is false where a value is larger than a
// frame can have.
func linearResidual(rest, x []int32, q quantised) bool {
	most, order := uint64(0), len(q.by)
	var c [linearOrders]int64
	for j, v := range q.by {
		c[j] = int64(v)
	}
	i := order
	for ; i < min(linearOrders, len(x)); i++ {
		sum := int64(0)
		for j := range order {
			sum += c[j] * int64(x[i-1-j])
		}
		e := int64(x[i]) - sum>>q.shift
		most |= magnitude(e)
		rest[i-order] = int32(e)
	}
	// All twelve at once, those beyond the order being zero.
	for ; i < len(x); i++ {
		y := x[i-linearOrders : i+1 : i+1]
		sum := c[0]*int64(y[11]) + c[1]*int64(y[10]) + c[2]*int64(y[9]) + c[3]*int64(y[8]) +
			c[4]*int64(y[7]) + c[5]*int64(y[6]) + c[6]*int64(y[5]) + c[7]*int64(y[4]) +
			c[8]*int64(y[3]) + c[9]*int64(y[2]) + c[10]*int64(y[1]) + c[11]*int64(y[0])
		e := int64(y[12]) - sum>>q.shift
		most |= magnitude(e)
		rest[i-order] = int32(e)
	}
	return most <= maxResidual
}
