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
	from := t * tile * c.factor
	quiet := calm * c.ceiling
	for i, here := range c.values[2:] {
		last := c.values[i+1]
		if last <= quiet && last >= -quiet && here <= c.ceiling && here >= -c.ceiling {
			continue
		}
		c.at(from+i, c.values[i], last, here)
	}
}

// calm is the part of a level below which a value cannot be the neighbour of a
// peak that passes it: between two values at twice the rate or more, a band-limited
// signal with a peak of 1 is above 1 - pi^2/32 at one of them (Bernstein's inequality).
const calm = 1 - math.Pi*math.Pi/32

// at books the excess of value m and the corners between it and the last.
func (c *clipper) at(m int, before, last, here float64) {
	for _, sign := range [2]float64{1, -1} {
		a, b, d := sign*before-c.ceiling, sign*last-c.ceiling, sign*here-c.ceiling
		if d > 0 {
			c.add(m, sign*d)
		}
		if (b > 0) != (d > 0) {
			curve := c.in.Curve(m - 1)
			c.corner(m-1, &curve, curve.Cross(sign*c.ceiling, -0.5, 0.5, (d > 0) == (sign > 0)), d > 0)
		} else if bend := (a - b) + (d - b); (a-b)*(d-b) > 0 && (b > 0) != (b-bend/4 > 0) {
			// An extremum between the values may lie on the other side of the ceiling: a parabola
			// through the three lies at most an eighth of the bend further, other curves not twice that.
			c.graze(m-1, sign, b > 0, a < d == (b > a))
		}
	}
}

// graze books the two corners of a stretch shorter than a sample around value m:
// an excess between two values that are not over, or a gap between two that are.
func (c *clipper) graze(m int, sign float64, over, later bool) {
	if !later {
		m--
	}
	curve := c.in.Curve(m)
	x, ok := curve.Extremum(-0.5, 0.5)
	if v, _, _, _ := curve.At(x); !ok || (sign*v > c.ceiling) == over {
		return
	}
	level, rising := sign*c.ceiling, over != (sign > 0)
	c.corner(m, &curve, curve.Cross(level, -0.5, x, rising), !over)
	c.corner(m, &curve, curve.Cross(level, x, 0.5, !rising), over)
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
