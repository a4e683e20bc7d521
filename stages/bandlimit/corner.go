package bandlimit

import (
	"math"

	"ledgerline/stages/kernel"
)

// points is how many samples a local polynomial runs through.
const points = 12

var (
	taylor  = taylorWeights((points - 1) / 2.0)
	meeting = kernel.NewMeeting(taylorWeights)
)

// taylorWeights has at [j][d] the weight of the j-th of the points in the polynomial's
// coefficient of x^d, x counted in samples from a place that is counted like the points. The
// polynomial is Lagrange's through the points.
func taylorWeights(at float64) (w [points][points]float64) {
	for j := range points {
		c := [points]float64{1}
		scale := 1.0
		degree := 0
		for i := range points {
			if i == j {
				continue
			}
			node := float64(i) - at
			for d := degree + 1; d > 0; d-- {
				c[d] = c[d-1] - float64(node*c[d])
			}
			c[0] *= -node
			degree++
			scale *= float64(j - i)
		}
		for d := range points {
			w[j][d] = c[d] / scale
		}
	}
	return w
}

// A Curve is the local polynomial through the values around one interval
// between two values, as coefficients of the powers of x, the distance from
// the interval's middle in values: the interval is -1/2..1/2.
type Curve [points]float64

// Curve is the local polynomial of the interval between the values m and m+1.
// Their tiles, and those of five values to either side, have been filled.
func (r *Rate) Curve(m int) (c Curve) {
	kernel.Combine((*[points]float64)(&c), &taylor, r.around(m))
	return c
}

// around is the points around the interval between the values m and m+1.
func (r *Rate) around(m int) *[points]float64 {
	return (*[points]float64)(r.values[m-points/2+1:])
}

// A Corner is where the signal crosses a level between the values At and At+1, one of which lies
// beyond it.
type Corner struct {
	At     int
	Level  float64
	Rising bool // the signal rises there
	Enters bool // the signal goes beyond the level there, for the caller to know
	Known  bool // X, D1, D2 and D3 have been found: Meet leaves them alone

	X, D1, D2, D3 float64 // as Cross has them
}

// Cross is where the curve of the interval between the values m and m+1, of which one
// lies beyond the level, crosses it, rising or falling, and its first three derivatives there.
func (r *Rate) Cross(m int, level float64, rising bool) (x, d1, d2, d3 float64) {
	c := Corner{At: m, Level: level, Rising: rising}
	var f kernel.Crossing
	meeting.Find(&f, r.around(m), level)
	r.confirm(&c, &f)
	return c.X, c.D1, c.D2, c.D3
}

// Meet is Cross for many corners, and the same to the last bit. It looks for several of them before it uses
// what it found: each search is a long chain of steps, and those of several corners overlap.
func (r *Rate) Meet(corners []Corner) {
	var m kernel.Meetings
	for len(corners) > 0 {
		n := min(len(corners), len(m.At))
		for i := range corners[:n] {
			m.At[i], m.Level[i] = corners[i].At, corners[i].Level
		}
		meeting.FindAll(&m, n, r.values)
		for i := range corners[:n] {
			if f := m.Crossing(i); !corners[i].Known {
				r.confirm(&corners[i], &f)
			}
		}
		corners = corners[n:]
	}
}

// confirm takes what was found of a corner, or looks again where that is not as good as it must be.
func (r *Rate) confirm(c *Corner, f *kernel.Crossing) {
	if f.X >= 0 && f.X <= 1 && (f.D1 > 0) == c.Rising && sure(f) {
		c.X, c.D1, c.D2, c.D3 = f.X-0.5, f.D1, f.D2, f.D3
		return
	}
	curve := r.Curve(c.At)
	c.X = curve.Cross(c.Level, -0.5, 0.5, c.Rising)
	_, c.D1, c.D2, c.D3 = curve.At(c.X)
}

// sure reports whether a crossing is as good as Cross would have it: the powers by which it errs are lost in
// rounding.
func sure(c *kernel.Crossing) bool {
	const near, step = 1.0 / 16, 1e-4
	back := math.Abs(c.Back)
	return math.Abs(c.Behind) < near && back < step && back*math.Abs(c.D2) < math.Abs(c.D1)/128
}

// At is the curve's value and its first three derivatives at x.
func (c *Curve) At(x float64) (v, d1, d2, d3 float64) {
	for d := points - 1; d >= 0; d-- {
		d3 = math.FMA(d3, x, d2)
		d2 = math.FMA(d2, x, d1)
		d1 = math.FMA(d1, x, v)
		v = math.FMA(v, x, c[d])
	}
	return v, d1, 2 * d2, 6 * d3
}

const (
	// steps bounds the iterations of a root finder: bisection alone would take fewer.
	steps = 60
	// converged is a step after which Newton's next, which it squares, is lost in rounding.
	converged = 1e-12
)

// Cross is where the curve meets the level between a and b, at which it lies on
// different sides of it: it rises, or falls, from a to b. (The caller knows; the
// curve itself may say otherwise at an end that lies on the level, by rounding.)
// Newton's step is taken where it stays between the ends of the bracket, which is
// halved where it does not, so that a curve that only grazes the level does no harm.
func (c *Curve) Cross(level, a, b float64, rising bool) float64 {
	return within(a, b, func(x float64) (bool, float64) {
		v, slope := c.slope(x)
		return (v < level) == rising, (v - level) / slope
	})
}

// Extremum is where the curve's slope changes its sign between a and b, and
// whether it does.
func (c *Curve) Extremum(a, b float64) (float64, bool) {
	_, da := c.slope(a)
	_, db := c.slope(b)
	if !(da*db < 0) {
		return 0, false
	}
	return within(a, b, func(x float64) (bool, float64) {
		slope, bend := c.bend(x)
		return (slope < 0) == (da < 0), slope / bend
	}), true
}

// within looks for a zero between a and b, first halfway: at an end that lies on the
// level there is a zero too, but not the one that is looked for. at says whether x lies
// before the zero and how far Newton's step takes it back.
func within(a, b float64, at func(x float64) (before bool, back float64)) float64 {
	x := (a + b) / 2
	for range steps {
		before, back := at(x)
		if before {
			a = x
		} else {
			b = x
		}
		next := x - back
		if !(next >= a && next <= b) {
			next = (a + b) / 2
		}
		if math.Abs(next-x) < converged {
			return next
		}
		x = next
	}
	return x
}

// slope is the curve's value and its first derivative at x.
func (c *Curve) slope(x float64) (v, d1 float64) {
	for d := points - 1; d >= 0; d-- {
		d1 = math.FMA(d1, x, v)
		v = math.FMA(v, x, c[d])
	}
	return v, d1
}

// bend is the curve's first and second derivatives at x.
func (c *Curve) bend(x float64) (d1, d2 float64) {
	for d := points - 1; d > 0; d-- {
		d2 = math.FMA(d2, x, d1)
		d1 = math.FMA(d1, x, float64(d)*c[d])
	}
	return d1, d2
}
