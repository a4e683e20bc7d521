package bandlimit

import "math"

// points is how many samples a local polynomial runs through.
const points = 12

// taylor[d][j] is the weight of the j-th of the points in the polynomial's
// coefficient of x^d, x counted from the middle of the points in samples. The
// polynomial is Lagrange's through the points.
var taylor = taylorWeights()

func taylorWeights() (w [points][points]float64) {
	for j := range points {
		c := [points]float64{1}
		scale := 1.0
		degree := 0
		for i := range points {
			if i == j {
				continue
			}
			node := float64(i) - (points-1)/2.0
			for d := degree + 1; d > 0; d-- {
				c[d] = c[d-1] - node*c[d]
			}
			c[0] *= -node
			degree++
			scale *= float64(j - i)
		}
		for d := range points {
			w[d][j] = c[d] / scale
		}
	}
	return w
}

// A Curve is the local polynomial through the samples around one interval
// between two samples, as coefficients of the powers of x, the distance from
// the interval's middle in samples: the interval is -1/2..1/2.
type Curve [points]float64

// Curve is the local polynomial of the interval between the values m and m+1
// of the interpolated signal.
func (ip *Interpolator) Curve(m int) (c Curve) {
	var y [points]float64
	for j := range y {
		y[j] = ip.At(m - points/2 + 1 + j)
	}
	for d := range c {
		s := 0.0
		for j, v := range y {
			s += float64(taylor[d][j] * v)
		}
		c[d] = s
	}
	return c
}

// At is the curve's value and its first three derivatives at x.
func (c *Curve) At(x float64) (v, d1, d2, d3 float64) {
	for d := points - 1; d >= 0; d-- {
		d3 = float64(d3*x) + d2
		d2 = float64(d2*x) + d1
		d1 = float64(d1*x) + v
		v = float64(v*x) + c[d]
	}
	return v, d1, 2 * d2, 6 * d3
}

// steps bounds the iterations of a root finder: bisection alone would take 52.
const steps = 60

// Cross is where the curve meets the level between a and b, at which it lies on
// different sides of it: it rises, or falls, from a to b. (The caller knows; the
// curve itself may say otherwise at an end that lies on the level, by rounding.)
// Newton's step is taken where it stays between the ends of the bracket, which is
// halved where it does not, so that a curve that only grazes the level does no harm.
func (c *Curve) Cross(level, a, b float64, rising bool) float64 {
	x := (a + b) / 2
	for range steps {
		v, slope, _, _ := c.At(x)
		if (v < level) == rising {
			a = x
		} else {
			b = x
		}
		next := x - (v-level)/slope
		if !(next > a && next < b) {
			next = (a + b) / 2
		}
		if math.Abs(next-x) < 1e-13 {
			return next
		}
		x = next
	}
	return x
}

// Extremum is where the curve's slope changes its sign between a and b, and
// whether it does.
func (c *Curve) Extremum(a, b float64) (float64, bool) {
	_, da, _, _ := c.At(a)
	_, db, _, _ := c.At(b)
	if !(da*db < 0) {
		return 0, false
	}
	x := (a + b) / 2
	for range steps {
		_, slope, bend, _ := c.At(x)
		if (slope < 0) == (da < 0) {
			a = x
		} else {
			b = x
		}
		next := x - slope/bend
		if !(next > a && next < b) {
			next = (a + b) / 2
		}
		if math.Abs(next-x) < 1e-13 {
			return next, true
		}
		x = next
	}
	return x, true
}
