package kernel

import "math"

// A Climb is where a polynomial leads from a place near one of its peaks.
type Climb struct {
	X      float64 // of the peak, from the place on
	Height float64 // there: the polynomial's value
	Bend   float64 // half of the second derivative next to it
	Start  float64 // the polynomial's value at the place
}

// NewClimb goes from the place x = 0 to the peak of the polynomial that has sum over j of rows[j][d] * y[j]
// as its coefficient of x^d: to that of the parabola that osculates it there and, by the reversion of the
// slope's series to the second power, once more from there. The error is as the third power of the second
// step.
func NewClimb(rows *[20][8]float64, y *[20]float64) (c Climb) {
	var top [4]float64
	climb(rows, y, &top)
	return Climb{top[0], top[1], top[2], top[3]}
}

// climbGeneric is NewClimb. Of the sums, those over the j of each remainder by 4 are added up in pairs.
//
//choose:asm rows, &y[0], top
func climbGeneric(rows *[20][8]float64, y *[20]float64, top *[4]float64) {
	var sums [4][powers]float64
	for j, a := range y {
		addScaledGeneric(sums[j%4][:], rows[j][:], a)
	}
	var c [powers]float64
	for d := range c {
		c[d] = (sums[0][d] + sums[1][d]) + (sums[2][d] + sums[3][d])
	}
	x := float64(-0.5 / c[2] * c[1])
	// The value, and the k-th derivatives over k!.
	v, d1, d2, d3 := c[powers-1], 0.0, 0.0, 0.0
	for d := powers - 2; d >= 0; d-- {
		d3 = follow(d3, x, d2, powers-1-d == 3)
		d2 = follow(d2, x, d1, powers-1-d == 2)
		d1 = follow(d1, x, v, powers-1-d == 1)
		v = math.FMA(v, x, c[d])
	}
	r := 0.5 / d2
	back := float64(d1 * r)
	back = math.FMA(float64(back*back), float64(float64(3*r)*d3), back)
	x -= back
	// What the series says of the height is wild where it leads far away.
	v = c[powers-1]
	for d := powers - 2; d >= 0; d-- {
		v = math.FMA(v, x, c[d])
	}
	*top = [4]float64{x, v, d2, c[0]}
}

// follow is a*x + b, and b alone where a is not yet there.
func follow(a, x, b float64, first bool) float64 {
	if first {
		return b
	}
	return math.FMA(a, x, b)
}
