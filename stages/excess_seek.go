package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// seek finds the excess of one tile, and the corners from the last value of the
// tile before it to its own last value.
func (e *excess) seek(t int) {
	may := e.in.MayPass(t, e.ceiling)
	passed := e.passed
	e.passed = may
	if !may && !passed {
		return
	}
	e.in.Fill(t - 1)
	e.in.Fill(t)
	e.in.Fill(t + 1)
	e.in.Values(e.values, t)
	quiet := calm * e.ceiling
	last := e.values.At(-1)
	for i := range tile * e.factor {
		here := e.values.At(i)
		if last > quiet || last < -quiet || here > e.ceiling || here < -e.ceiling {
			e.at(t*tile*e.factor, i, e.values.At(i-2), last, here)
		}
		last = here
	}
}

// calm is the part of a level below which a value is taken for no neighbour of a
// peak that passes it: between two values at twice the rate or more, a band-limited
// signal whose highest peak is 1 is above 1 - pi^2/32 at one of them (Bernstein's inequality).
// A peak between others several times as high can be steeper; then an excess that is
// shorter than from one value to the next may be missed.
const calm = 1 - math.Pi*math.Pi/32

// at books the excess of value i from value from on, and the corners between it
// and the last.
func (e *excess) at(from, i int, before, last, here float64) {
	sign := 1.0
	if last < 0 {
		sign = -1
	}
	e.side(from, i, sign, before, last, here)
	if here*sign < 0 {
		e.side(from, i, -sign, before, last, here)
	}
}

// side is at for the excess of one sign.
func (e *excess) side(from, i int, sign, before, last, here float64) {
	a, b, d := sign*before-e.ceiling, sign*last-e.ceiling, sign*here-e.ceiling
	enters, leaves := b <= 0 && d > 0, b > 0 && d <= 0
	if enters && e.run != nil {
		e.run.begin()
	}
	if d > 0 {
		e.over(from+i, sign, d)
	}
	bend := (a - b) + (d - b)
	switch {
	case enters || leaves:
		curve := e.values.Curve(i - 1)
		e.corner(from+i-1, &curve, curve.Cross(sign*e.ceiling, -0.5, 0.5, enters == (sign > 0)), enters)
	// An extremum between the values may lie on the other side of the ceiling: a parabola
	// through the three lies at most an eighth of the bend further, other curves not twice that.
	case b <= 0 && a < b && d <= b && b-bend/4 > 0 && e.run == nil:
		e.graze(from, i-1, sign, false, a < d)
	case b > 0 && a > b && d >= b && b-bend/4 <= 0:
		e.graze(from, i-1, sign, true, a > d)
	}
	if leaves && e.run != nil {
		e.run.end()
	}
}

// over books a value that is d beyond the ceiling.
func (e *excess) over(m int, sign, d float64) {
	if e.run != nil && e.run.grow(d+e.ceiling) {
		for _, k := range e.run.kept {
			e.owe(k.m, k.v)
		}
	}
	e.add(m, sign*d)
}

// graze books the two corners of a stretch shorter than a sample around value i:
// an excess between two values that are not over, or a gap between two that are.
func (e *excess) graze(from, i int, sign float64, over, later bool) {
	if !later {
		i--
	}
	curve := e.values.Curve(i)
	x, ok := curve.Extremum(-0.5, 0.5)
	if v, _, _, _ := curve.At(x); !ok || (sign*v > e.ceiling) == over {
		return
	}
	level, rising := sign*e.ceiling, over != (sign > 0)
	e.corner(from+i, &curve, curve.Cross(level, -0.5, x, rising), !over)
	e.corner(from+i, &curve, curve.Cross(level, x, 0.5, !rising), over)
}

// corner spreads the residual of a corner at x of the interval behind value m
// over the values around it. At it the excess enters, or leaves, zero.
func (e *excess) corner(m int, curve *bandlimit.Curve, x float64, enters bool) {
	_, d1, d2, d3 := curve.At(x)
	if !enters {
		d1, d2, d3 = -d1, -d2, -d3
	}
	var owed [bandlimit.Spread]float64
	e.residuals.Corner(&owed, x+0.5, d1, d2, d3)
	for j, v := range owed {
		e.add(m+1-bandlimit.Spread/2+j, v)
	}
}

// add adds v to the excess at value m, or to that of a run that may turn out not to count.
func (e *excess) add(m int, v float64) {
	if e.run.pending() {
		e.run.add(m, v)
		return
	}
	e.owe(m, v)
}

func (e *excess) owe(m int, v float64) {
	i := m / e.factor
	e.owed[m%e.factor][i] += v
	e.active[i/tile] = true
}
