package bandlimit

import "math"

// A flat top's peak is ill defined: where it turns from one hump to two, the place of either moves as the cube root of
// what the values are out by. The middle of the stretch in which the signal passes half of its excess moves as they do.
const (
	stride   = 1.0 / 8 // of a value, in which a stretch is walked through
	furthest = 8       // values to either side
)

// Middle is a top for a pulse to be taken off: between the two places, beside the highest peak near a top, where the
// signal falls to halfway between its height and an aim, and as high as that peak. A top so sharp that there is no other
// within that stretch is what it was.
func (r *Rate) Middle(top Top, aim float64) Top {
	sign := math.Copysign(1, top.Height)
	for range 3 {
		half := aim + float64((math.Abs(top.Height)-aim)/2)
		if math.Abs(top.Bend)*sharp > math.Abs(top.Height)-half {
			return top
		}
		left, leftMost := r.walk(top, -1, half)
		right, rightMost := r.walk(top, 1, half)
		most := leftMost
		if sign*rightMost.Height > sign*most.Height {
			most = rightMost
		}
		if sign*most.Height <= sign*top.Height {
			return Top{At: (left + right) / 2, Height: top.Height}
		}
		top = most
	}
	return top
}

// sharp is the square of half the width, in values, of the stretch beside a peak beyond half its excess, if it
// were a parabola, below which it is sharp.
const sharp = 0.1

// walk goes from a top one way to where the signal falls to a level, and returns that place and the highest peak on the way.
func (r *Rate) walk(top Top, way, level float64) (end float64, most Top) {
	sign := math.Copysign(1, top.Height)
	most = top
	at, row := rowAt(top.At)
	c := r.coefficients(at, row)
	x := top.At - (float64(at) + middle(row))
	before, here := 0.0, float64(sign*horner(&c, x))
	from := x
	for n := 1; ; n++ {
		if math.Abs(x-from) >= 0.25 {
			at, row = rowAt(float64(at) + middle(row) + x)
			place := top.At + float64(way*stride*float64(n-1))
			c = r.coefficients(at, row)
			x = place - (float64(at) + middle(row))
			from = x
		}
		next := float64(sign * horner(&c, x+float64(way*stride)))
		place := top.At + float64(way*stride*float64(n))
		if next <= level {
			return place - float64(way*stride*fall(&c, sign, x, way, level)), most
		}
		if n > 1 && here >= before && here > next && here > float64(sign*top.Height)-1e-3 {
			u := [3]float64{sign * before, sign * here, sign * next}
			if t := r.Summit(place-float64(way*stride), stride, &u); sign*t.Height > float64(sign*most.Height)+1e-6 {
				most = t
			}
		}
		if n >= furthest/stride {
			return place, most
		}
		before, here = here, next
		x += float64(way * stride)
	}
}

// fall is how much of a stride there is left behind the place where the polynomial falls to a level between x and the next.
func fall(c *[summitTerms]float64, sign, x, way, level float64) float64 {
	a, b := 0.0, 1.0
	f := func(s float64) float64 { return float64(sign*horner(c, x+float64(way*stride*s))) - level }
	fa, fb := f(a), f(b)
	for range 40 {
		if fa-fb == 0 {
			break
		}
		s := a + (b-a)*fa/(fa-fb)
		v := f(s)
		if math.Abs(v) < 1e-12 {
			return 1 - s
		}
		if v > 0 {
			a, fa = s, v
			fb /= 2
		} else {
			b, fb = s, v
			fa /= 2
		}
	}
	return 1 - b
}

func horner(c *[summitTerms]float64, x float64) float64 {
	v := c[summitTerms-1]
	for d := summitTerms - 2; d >= 0; d-- {
		v = math.FMA(v, x, c[d])
	}
	return v
}

// coefficients are those of the powers of the distance from the middle of a row after value at.
func (r *Rate) coefficients(at, row int) (c [summitTerms]float64) {
	rows, y := &r.summits[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:])
	for j, v := range y {
		for d := range c {
			c[d] = math.FMA(v, rows[j][d], c[d])
		}
	}
	return c
}
