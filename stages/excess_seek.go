package stages

import (
	"math"
	"sync"

	"ledgerline/stages/bandlimit"
)

// The tables of a factor are the same for every clipper.
var (
	residualsOf = perFactor(bandlimit.NewResiduals)
	decimatorOf = perFactor(bandlimit.NewDecimator)
)

// perFactor makes the tables of each factor once, when they are first asked for.
func perFactor[T any](make func(int) T) func(int) T {
	tables := map[int]func() T{}
	for _, factor := range []int{2, 4, 8, 16} {
		tables[factor] = sync.OnceValue(func() T { return make(factor) })
	}
	return func(factor int) T { return tables[factor]() }
}

// seek finds the excess of one tile, and the corners from the last value of the
// tile before it to its own last value.
func (c *clipper) seek(t int) {
	may := c.in.MayPass(t, c.ceiling)
	passed := c.passed
	c.passed = may
	if !may && !passed {
		return
	}
	c.in.Fill(t - 1)
	c.in.Fill(t)
	c.in.Fill(t + 1)
	c.in.Values(c.values, t)
	quiet := calm * c.ceiling
	last := c.values.At(-1)
	for i := range tile * c.factor {
		here := c.values.At(i)
		if last > quiet || last < -quiet || here > c.ceiling || here < -c.ceiling {
			c.at(t*tile*c.factor, i, c.values.At(i-2), last, here)
		}
		last = here
	}
}

// calm is the part of a level below which a value cannot be the neighbour of a
// peak that passes it: between two values at twice the rate or more, a band-limited
// signal with a peak of 1 is above 1 - pi^2/32 at one of them (Bernstein's inequality).
const calm = 1 - math.Pi*math.Pi/32

// at books the excess of value i from value from on, and the corners between it
// and the last.
func (c *clipper) at(from, i int, before, last, here float64) {
	sign := 1.0
	if last < 0 {
		sign = -1
	}
	c.side(from, i, sign, before, last, here)
	if here*sign < 0 {
		c.side(from, i, -sign, before, last, here)
	}
}

// side is at for the excess of one sign.
func (c *clipper) side(from, i int, sign, before, last, here float64) {
	a, b, d := sign*before-c.ceiling, sign*last-c.ceiling, sign*here-c.ceiling
	if d > 0 {
		c.add(from+i, sign*d)
	}
	bend := (a - b) + (d - b)
	switch {
	case (b > 0) != (d > 0):
		curve := c.values.Curve(i - 1)
		c.corner(from+i-1, &curve, curve.Cross(sign*c.ceiling, -0.5, 0.5, (d > 0) == (sign > 0)), d > 0)
	// An extremum between the values may lie on the other side of the ceiling: a parabola
	// through the three lies at most an eighth of the bend further, other curves not twice that.
	case b <= 0 && a < b && d <= b && b-bend/4 > 0:
		c.graze(from, i-1, sign, false, a < d)
	case b > 0 && a > b && d >= b && b-bend/4 <= 0:
		c.graze(from, i-1, sign, true, a > d)
	}
}

// graze books the two corners of a stretch shorter than a sample around value i:
// an excess between two values that are not over, or a gap between two that are.
func (c *clipper) graze(from, i int, sign float64, over, later bool) {
	if !later {
		i--
	}
	curve := c.values.Curve(i)
	x, ok := curve.Extremum(-0.5, 0.5)
	if v, _, _, _ := curve.At(x); !ok || (sign*v > c.ceiling) == over {
		return
	}
	level, rising := sign*c.ceiling, over != (sign > 0)
	c.corner(from+i, &curve, curve.Cross(level, -0.5, x, rising), !over)
	c.corner(from+i, &curve, curve.Cross(level, x, 0.5, !rising), over)
}

// corner spreads the residual of a corner at x of the interval behind value m
// over the values around it. At it the excess enters, or leaves, zero.
func (c *clipper) corner(m int, curve *bandlimit.Curve, x float64, enters bool) {
	_, d1, d2, d3 := curve.At(x)
	if !enters {
		d1, d2, d3 = -d1, -d2, -d3
	}
	var owed [bandlimit.Spread]float64
	c.residuals.Corner(&owed, x+0.5, d1, d2, d3)
	for j, v := range owed {
		c.add(m+1-bandlimit.Spread/2+j, v)
	}
}

// add adds v to the excess at value m.
func (c *clipper) add(m int, v float64) {
	i := m / c.factor
	c.excess[m%c.factor][i] += v
	c.active[i/tile] = true
}
