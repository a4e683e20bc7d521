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
// the signal x after the middle of the row, which is (row+1/2)/summitRows of a value after the
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
				near[i] = WindowedSinc(from+float64((float64(i)-(points-1)/2.0)*step), summitReach, summitBeta)
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
			c[d] += float64(w[d] * values[i])
		}
	}
	scale := 1.0
	for d := range c {
		c[d] *= scale
		scale /= step
	}
	return c
}

// A Top is a peak of the signal, Height high, with its sign. At counts values at twice the track's rate.
type Top struct {
	At, Height float64
	Bend       float64 // half of the second derivative, or 0 where a climb has gone astray
}

// rest is what a value of a Fourfold may be out by, of the largest around: a peak may be lower than it by
// that much.
const rest = 3e-4

// Summit is the peak at the middle one of three values of the signal, a step apart, which with the sign that
// makes it positive is the largest of them. It lies at a place of r, which is at twice the track's rate; the
// step is 1, 1/2 or 1/4 of one of r's values.
func (r *Rate) Summit(place, step float64, u *[3]float64) Top {
	a, b, d := u[0], u[1], u[2]
	// Where the parabola through the three has its peak is a good guess as a rule.
	bend := (a - b) + (d - b)
	at, row := rowAt(place + step*0.5*(a-d)/bend)
	c := r.climb(at, row)
	if math.Abs(c.X) > 0.15 && uphill(&c) {
		at, row = rowAt(float64(at) + middle(row) + c.X)
		c = r.climb(at, row)
	}
	most := math.Abs(b) + float64(4*math.Abs(bend)) // on flat ground a climb may go astray
	if high := math.Copysign(1, b) * c.Height; !uphill(&c) || high < math.Abs(b)*(1-float64((1-step)*2*rest)) ||
		high > most {
		return r.search(Top{At: place, Height: b}, step, most)
	}
	return Top{float64(at) + middle(row) + c.X, c.Height, c.Bend}
}

// FilledValue is the signal at a place of r, which is at twice the track's rate. It fills the tiles that it
// needs.
func (r *Rate) FilledValue(place float64) float64 {
	const n = pulseRate * Tile
	for t := (int(place) - summitReach) / n; t <= (int(place)+summitReach)/n; t++ {
		r.Fill(t)
	}
	return r.Value(place)
}

// Value is the signal at a place of r, which is at twice the track's rate.
func (r *Rate) Value(place float64) float64 {
	at, row := rowAt(place)
	c := r.coefficients(at, row)
	return horner(&c, place-(float64(at)+middle(row)))
}

// coefficients are those of the powers of the distance from the middle of a row after value at.
func (r *Rate) coefficients(at, row int) [summitTerms]float64 {
	rows, y := &r.summits[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:])
	var c0, c1, c2, c3, c4, c5, c6, c7 float64 // and not an array, so that they are kept in registers
	for j, v := range y {
		w := &rows[j]
		c0, c1, c2, c3 = math.FMA(v, w[0], c0), math.FMA(v, w[1], c1), math.FMA(v, w[2], c2), math.FMA(v, w[3], c3)
		c4, c5, c6, c7 = math.FMA(v, w[4], c4), math.FMA(v, w[5], c5), math.FMA(v, w[6], c6), math.FMA(v, w[7], c7)
	}
	return [summitTerms]float64{c0, c1, c2, c3, c4, c5, c6, c7}
}

// horner is the polynomial of such coefficients at x.
func horner(c *[summitTerms]float64, x float64) float64 {
	v := c[summitTerms-1]
	for d := summitTerms - 2; d >= 0; d-- {
		v = math.FMA(v, x, c[d])
	}
	return v
}

// search looks at every row that is as near to a place, for a peak that is higher than there, and not more
// than most.
func (r *Rate) search(place Top, near, most float64) Top {
	sign := math.Copysign(1, place.Height)
	best, top := kernel.Climb{Start: -sign * math.MaxFloat64}, Top{}
	for i := range 3 * summitRows {
		at, row := int(place.At)-1+i/summitRows, i%summitRows
		here := float64(at) + middle(row)
		if math.Abs(here-place.At) > near {
			continue
		}
		if c := r.climb(at, row); sign*c.Start > sign*best.Start {
			best, top = c, Top{At: here, Height: c.Start}
		}
	}
	if high := sign * best.Height; uphill(&best) && high <= most &&
		high >= max(sign*place.Height, sign*best.Start) {
		return Top{top.At + best.X, best.Height, best.Bend}
	}
	if sign*top.Height > sign*place.Height {
		return top
	}
	return place
}

// climb goes from the middle of a row after value at to the peak near it.
func (r *Rate) climb(at, row int) kernel.Climb {
	return kernel.NewClimb(&r.summits[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:]))
}

// uphill reports whether a climb has led to a peak, and not far.
func uphill(c *kernel.Climb) bool {
	return c.Bend*c.Height < 0 && c.X > -0.5 && c.X < 0.5
}

// rowAt is the value before a place and the row after it, and middle how far after the value the middle of a
// row lies.
func rowAt(place float64) (at, row int) {
	at = int(place)
	return at, int((place - float64(at)) * summitRows)
}

func middle(row int) float64 { return float64((float64(row) + 0.5) / summitRows) }
