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
// were a parabola, below which it is sharp. With 0.1 one hump of two counts as sharp and the other not, as the grid
// lies: SNR 72 to 81 dB at 5 to 5.7 kHz, 2.5 dB over.
const sharp = 0.01

// walk goes from a top one way to where the signal falls to a level, and returns that place and the highest peak on the way.
// It takes the polynomial of the row half a section ahead for each section of four strides.
func (r *Rate) walk(top Top, way, level float64) (end float64, most Top) {
	sign := math.Copysign(1, top.Height)
	most = top
	const section = 4
	var c [summitTerms]float64
	x, before, here := 0.0, 0.0, 0.0
	for n := 0; ; n++ {
		place := top.At + float64(way*stride*float64(n))
		if n%section == 0 {
			at, row := rowAt(place + float64(way*stride*section/2))
			c = r.coefficients(at, row)
			x = place - (float64(at) + middle(row))
			if n == 0 {
				here = float64(sign * horner(&c, x))
			}
		}
		next := float64(sign * horner(&c, x+float64(way*stride)))
		if next <= level {
			return place + float64(way*stride*fall(&c, sign, x, way, level, next)), most
		}
		if n > 0 && here >= before && here > next && here > float64(sign*top.Height)-1e-3 {
			u := [3]float64{sign * before, sign * here, sign * next}
			if t := r.Summit(place, stride, &u); sign*t.Height > float64(sign*most.Height)+1e-6 {
				most = t
			}
		}
		if n+1 >= furthest/stride {
			return place + float64(way*stride), most
		}
		before, here = here, next
		x += float64(way * stride)
	}
}

// fall is the part of a stride from x on after which the polynomial has fallen to a level, by false position; next is its
// value a stride on, no more than the level.
func fall(c *[summitTerms]float64, sign, x, way, level, next float64) float64 {
	a, b := 0.0, 1.0
	fa, fb := float64(sign*horner(c, x))-level, next-level
	if fa <= 0 {
		return 0
	}
	near := 1e-7 * (fa - fb) // so much of the height is as much of a stride
	for range 40 {
		s := a + (b-a)*fa/(fa-fb)
		v := float64(sign*horner(c, x+float64(way*stride*s))) - level
		switch {
		case math.Abs(v) < near:
			return s
		case v > 0:
			a, fa = s, v
			fb /= 2
		default:
			b, fb = s, v
			fa /= 2
		}
	}
	return b
}

func horner(c *[summitTerms]float64, x float64) float64 {
	v := c[summitTerms-1]
	for d := summitTerms - 2; d >= 0; d-- {
		v = math.FMA(v, x, c[d])
	}
	return v
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
