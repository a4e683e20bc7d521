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
// tenth of the points.
var summits = sync.OnceValue(newSummits)

func newSummits() *summitTable {
	s := new(summitTable)
	const step = 1.0 / (summitRows * (points - 1))
	for row := range s {
		for j := range s[row] {
			from := middle(row) - float64(j-summitPoints/2+1)
			var near [points]float64
			for i := range near {
				near[i] = WindowedSinc(from+(float64(i)-(points-1)/2.0)*step, summitReach, summitBeta)
			}
			c := expand(&near, step)
			copy(s[row][j][:], c[:])
		}
	}
	return s
}

// expand is what has the given values a step apart around 0 as coefficients of the powers of x. Those of
// the polynomial through close points are the derivatives there.
func expand(values *[points]float64, step float64) (c [points]float64) {
	for i, w := range taylor {
		for d := range c {
			c[d] += w[d] * values[i]
		}
	}
	scale := 1.0
	for d := range c {
		c[d] *= scale
		scale /= step
	}
	return c
}

// A Top is a peak of the signal: it lies a fraction 0..1 of a value behind value At of twice the track's
// rate and is Height high, with its sign.
type Top struct {
	At               int
	Fraction, Height float64
}

// Summit is the peak at value m, which with the sign that makes it positive is the largest among its
// neighbours, the last of equal ones. The rate is twice the track's or a multiple of that.
func (r *Rate) Summit(m int) Top {
	u := r.values
	a, b, d := u[m-1], u[m], u[m+1]
	// Where the parabola through the three has its peak is a good guess as a rule.
	bend := (a - b) + (d - b)
	x := 0.5 * (a - d) / bend
	twice, per := r.ip.At(2), r.Factor()/2
	at, x := whole(m/per, (float64(m%per)+x)/float64(per))
	row := rowAt(x)
	c := twice.climb(at, row)
	if math.Abs(c.X) > 0.15 && uphill(&c) {
		at, x = whole(at, middle(row)+c.X)
		row = rowAt(x)
		c = twice.climb(at, row)
	}
	most := math.Abs(b) + 4*math.Abs(bend) // on flat ground a climb may go astray
	if high := math.Copysign(1, b) * c.Height; !uphill(&c) || high < math.Abs(b) || high > most {
		return twice.search(Top{m / per, float64(m%per) / float64(per), b}, 1/float64(per), most)
	}
	at, x = whole(at, middle(row)+c.X)
	return Top{at, x, c.Height}
}

// search looks at every row that is as near to a place, for a peak that is higher than there, and not more than most.
func (r *Rate) search(place Top, near, most float64) Top {
	sign := math.Copysign(1, place.Height)
	best, top := kernel.Climb{Start: -sign * math.MaxFloat64}, Top{}
	for i := range 3 * summitRows {
		at, row := place.At-1+i/summitRows, i%summitRows
		if math.Abs(float64(at-place.At)+middle(row)-place.Fraction) > near {
			continue
		}
		if c := r.climb(at, row); sign*c.Start > sign*best.Start {
			best, top = c, Top{at, middle(row), c.Start}
		}
	}
	if high := sign * best.Height; uphill(&best) && high <= most && high >= max(sign*place.Height, sign*best.Start) {
		at, x := whole(top.At, top.Fraction+best.X)
		return Top{at, x, best.Height}
	}
	if sign*top.Height > sign*place.Height {
		return top
	}
	return place
}

// climb goes from the middle of a row behind value at to the peak near it.
func (r *Rate) climb(at, row int) kernel.Climb {
	return kernel.NewClimb(&r.summits[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:]))
}

// uphill reports whether a climb has led to a peak, and not far.
func uphill(c *kernel.Climb) bool {
	return c.Bend*c.Height < 0 && c.X > -0.5 && c.X < 0.5
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
