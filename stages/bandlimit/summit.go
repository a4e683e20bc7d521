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

// A Top is a peak of the signal: it lies a fraction 0..1 of a value behind value At and is
// Height high, with its sign.
type Top struct {
	At               int
	Fraction, Height float64
}

// Summit is the peak at value m, which is as far from 0 as its neighbours or further, and whether it
// reaches least: where it is found in passing that it does not, it is not looked for any closer. The rate is
// twice the track's.
func (r *Rate) Summit(m int, least float64) (Top, bool) {
	u := r.values
	a, b, d := u[m-1], u[m], u[m+1]
	// Where the parabola through the three has its peak is a good guess as a rule.
	x, at := 0.5*(a-d)/((a-b)+(d-b)), m
	if x < 0 {
		x, at = x+1, m-1
	}
	row := rowAt(x)
	c := r.expand(at, row)
	if x := c.parabola(); math.Abs(x) < 0.15 && math.Abs(c.value(x))+doubt*math.Abs(c[2]) < least {
		return Top{}, false
	}
	x, v, ok := c.climb()
	if ok && math.Abs(x) > 0.15 {
		at, x = whole(at, middle(row)+x)
		row = rowAt(x)
		c = r.expand(at, row)
		x, v, ok = c.climb()
	}
	if !ok || math.Abs(v) < math.Abs(b) {
		return r.search(m), true
	}
	at, x = whole(at, middle(row)+x)
	return Top{at, x, v}, true
}

// doubt is how much further than the signal where the parabola has its peak the peak itself may reach, in
// terms of the parabola's bend: a slope of s is left there, of a tenth of the bend c at most, and costs s^2/(4c).
const doubt = 1.0 / 400

// parabola is where the parabola of the first three terms has its peak.
func (c *local) parabola() float64 { return -0.5 * c[1] / c[2] }

// climb goes to the peak near 0, if there is one.
func (c *local) climb() (x, v float64, ok bool) {
	x = c.parabola()
	for range 3 {
		slope, bend := c.slopeAndBend(x)
		if !(bend*c[0] < 0) || !(x > -0.5 && x < 0.5) {
			return 0, 0, false
		}
		step := slope / bend
		x -= step
		if math.Abs(step) < 1e-3 { // the next step is its square
			break
		}
	}
	return x, c.value(x), true
}

// search is Summit by looking at every row.
func (r *Rate) search(m int) Top {
	top, row := Top{m, 0, r.values[m]}, -1
	for i := range 2 * summitRows {
		at, k := m-1+i/summitRows, i%summitRows
		if c := r.expand(at, k); math.Abs(c[0]) > math.Abs(top.Height) {
			top, row = Top{at, middle(k), c[0]}, k
		}
	}
	if row < 0 {
		return top
	}
	c := r.expand(top.At, row)
	if x, v, ok := c.climb(); ok && math.Abs(v) >= math.Abs(top.Height) {
		top.At, top.Fraction = whole(top.At, top.Fraction+x)
		top.Height = v
	}
	return top
}

// expand is the signal around the middle of a row behind value at, as coefficients of the powers of
// the distance from there.
func (r *Rate) expand(at, row int) (c local) {
	kernel.Expand((*[summitTerms]float64)(&c), &r.summits[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:]))
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

// A local is the signal around a moment, as coefficients of the powers of the distance from it in values.
type local [summitTerms]float64

// value is that at x. It and slopeAndBend add pairs of powers (Estrin's scheme), which wait less for each other.
func (c *local) value(x float64) float64 {
	xx := x * x
	low := math.FMA(xx, math.FMA(x, c[3], c[2]), math.FMA(x, c[1], c[0]))
	high := math.FMA(xx, math.FMA(x, c[7], c[6]), math.FMA(x, c[5], c[4]))
	return math.FMA(xx*xx, high, low)
}

// slopeAndBend are the first and second derivatives at x.
func (c *local) slopeAndBend(x float64) (d1, d2 float64) {
	xx := x * x
	low := math.FMA(xx, math.FMA(x, 4*c[4], 3*c[3]), math.FMA(x, 2*c[2], c[1]))
	high := math.FMA(xx, 7*c[7], math.FMA(x, 6*c[6], 5*c[5]))
	d1 = math.FMA(xx*xx, high, low)
	low = math.FMA(xx, math.FMA(x, 20*c[5], 12*c[4]), math.FMA(x, 6*c[3], 2*c[2]))
	return d1, math.FMA(xx*xx, math.FMA(x, 42*c[7], 30*c[6]), low)
}
