package bandlimit

import (
	"math"
	"sync"

	"ledgerline/stages/kernel"
)

// A summit is looked for on the values at twice the track's rate, between which the signal is had by
// a sinc under a Kaiser window. At that rate the band ends at a quarter of the rate and its images
// begin at three quarters, which a short one tells apart by 130 dB.
const (
	summitPoints = 20 // values that the signal between two of them depends on
	summitReach  = 10
	summitRows   = 8 // table rows a value
	summitTerms  = 8
	summitBeta   = 16
)

type summitTable [summitRows][summitPoints][summitTerms]float64

// summits()[row][j][d] is the weight of the j-th of the points in the coefficient of x^d of
// the signal x behind the middle of the row, which is (row+1/2)/summitRows of a value behind the
// middle point, the eighth.
var summits = sync.OnceValue(newSummits)

func newSummits() *summitTable {
	s := new(summitTable)
	const step = 1.0 / (summitRows * (points - 1))
	for row := range s {
		for j := range s[row] {
			from := middle(row) - float64(j-summitPoints/2+1)
			// The polynomial through close points has as its coefficients the derivatives there.
			for i, w := range taylor {
				v := WindowedSinc(from+(float64(i)-(points-1)/2.0)*step, summitReach, summitBeta)
				for d := range summitTerms {
					s[row][j][d] += w[d] * v * math.Pow(step, -float64(d))
				}
			}
		}
	}
	return s
}

// Summit is the peak of the signal at value m, which is as far from 0 as its neighbours or
// further: it lies a fraction 0..1 of a value behind value at and is v high, with its sign. The
// rate is twice the track's.
func (r *Rate) Summit(m int) (at int, fraction, v float64) {
	u := r.values
	a, b, d := u[m-1], u[m], u[m+1]
	// Where the parabola through the three has its peak is a good guess as a rule.
	x := 0.5 * (a - d) / ((a - b) + (d - b))
	at = m
	if x < 0 {
		x, at = x+1, m-1
	}
	row := rowAt(x)
	fraction, v, ok := r.climb(at, row)
	if ok && math.Abs(fraction-middle(row)) > 0.15 {
		at, fraction = whole(at, fraction)
		fraction, v, ok = r.climb(at, rowAt(fraction))
	}
	if ok && math.Abs(v) >= math.Abs(b) {
		at, fraction = whole(at, fraction)
		return at, fraction, v
	}
	return r.search(m)
}

// climb goes to the peak near the middle of a row behind value at, if there is one.
func (r *Rate) climb(at, row int) (fraction, v float64, ok bool) {
	c := r.expand(at, row)
	x := -0.5 * c[1] / c[2]
	for range 3 {
		slope, bend := slopeAndBend(&c, x)
		if !(bend*c[0] < 0) || !(x > -0.5 && x < 0.5) {
			return 0, 0, false
		}
		step := slope / bend
		x -= step
		if math.Abs(step) < 1e-3 {
			break
		}
	}
	return middle(row) + x, height(&c, x), true
}

// search is Summit by looking at every row.
func (r *Rate) search(m int) (at int, fraction, v float64) {
	at, v = m, r.values[m]
	best, row := math.Abs(v), -1
	for i := range 2 * summitRows {
		c := r.expand(m-1+i/summitRows, i%summitRows)
		if top := math.Abs(c[0]); top > best {
			best, row = top, i
		}
	}
	if row < 0 {
		return at, 0, v
	}
	at = m - 1 + row/summitRows
	if f, high, ok := r.climb(at, row%summitRows); ok && math.Abs(high) >= best {
		at, f = whole(at, f)
		return at, f, high
	}
	return at, middle(row % summitRows), math.Copysign(best, v)
}

// expand is the signal around the middle of a row behind value at, as coefficients of the powers of
// the distance from there.
func (r *Rate) expand(at, row int) (c [summitTerms]float64) {
	kernel.Expand(&c, &summits()[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:]))
	return c
}

// rowAt is the row of a fraction, and middle the fraction in the middle of a row.
func rowAt(fraction float64) int { return min(int(fraction*summitRows), summitRows-1) }

func middle(row int) float64 { return (float64(row) + 0.5) / summitRows }

// whole brings a fraction back to 0..1.
func whole(at int, fraction float64) (int, float64) {
	if fraction < 0 {
		return at - 1, fraction + 1
	}
	if fraction > 1 {
		return at + 1, fraction - 1
	}
	return at, fraction
}

func slopeAndBend(c *[summitTerms]float64, x float64) (d1, d2 float64) {
	for d := summitTerms - 1; d > 0; d-- {
		d2 = math.FMA(d2, x, d1)
		d1 = math.FMA(d1, x, float64(d)*c[d])
	}
	return d1, d2
}

func height(c *[summitTerms]float64, x float64) (v float64) {
	for d := summitTerms - 1; d >= 0; d-- {
		v = math.FMA(v, x, c[d])
	}
	return v
}
