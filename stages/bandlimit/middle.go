package bandlimit

import (
	"math"

	"ledgerline/stages/kernel"
)

// A flat top's peak is ill defined: where it turns from one hump to two, the place of either moves as the
// cube root of what the values are out by. The middle of the stretch in which the signal passes half of its
// excess moves as they do.
const (
	stride   = 1.0 / 8 // of a value, in which a stretch is walked through
	furthest = 8       // values to either side
)

// Middle is a top for a pulse to be taken off: between the two places, beside the highest peak near a top,
// where the signal falls to halfway between its height and an aim, and as high as that peak. A top so sharp
// that there is no other within that stretch is what it was.
func (r *Rate) Middle(top Top, aim float64) Top {
	sign := math.Copysign(1, top.Height)
	for range 3 {
		half := aim + float64((math.Abs(top.Height)-aim)/2)
		if math.Abs(top.Bend)*sharp > math.Abs(top.Height)-half {
			return top
		}
		left, right, most := r.stretch(top, half)
		if sign*most.Height <= sign*top.Height {
			return Top{At: (left + right) / 2, Height: top.Height}
		}
		top = most
	}
	return top
}

// sharp is the square of half the width, in values, of the stretch beside a peak beyond half its excess, if
// it were a parabola, below which it is sharp. With 0.1 one hump of two counts as sharp and the other not, as
// the grid lies: SNR 72 to 81 dB at 5 to 5.7 kHz, 2.5 dB over.
const sharp = 0.01

// stretch goes from a top both ways to where the signal falls to a level, and returns both places and the
// highest peak on the way.
func (r *Rate) stretch(top Top, level float64) (left, right float64, most Top) {
	sign := math.Copysign(1, top.Height)
	ways := [2]walk{{step: -stride}, {step: stride}}
	for i := range ways { // both before either is looked at, as neither waits for the other
		r.section(&ways[i], top.At, sign)
	}
	var falls kernel.Falls
	most = top
	for i := range ways {
		w := &ways[i]
		high := r.walk(w, top, level)
		if sign*high.Height > sign*most.Height {
			most = high
		}
		if w.falls {
			falls.Set(i, &w.Walk, w.n%section, w.step, level)
		} else {
			falls.Clear(i)
		}
	}
	a, b := falls.Find()
	return ways[0].end + float64(ways[0].step*a), ways[1].end + float64(ways[1].step*b), most
}

// A walk goes from a top one way, a section of strides at a time: on the polynomial of the row half a section
// ahead.
type walk struct {
	kernel.Walk
	step  float64 // a stride, with its way
	n     int     // strides up to where the signal falls to the level
	end   float64 // the place there
	falls bool    // and within the next stride, or not at all where it ends
}

// section is how many strides of a walk one polynomial serves.
const section = 4

// section goes on from a place.
func (r *Rate) section(w *walk, place, sign float64) {
	at, row := rowAt(place + float64(w.step*section/2))
	w.Find(&r.summits[row], (*[summitPoints]float64)(r.values[at-summitPoints/2+1:]), sign,
		place-(float64(at)+middle(row)), w.step)
}

// walk goes to where the signal falls to a level, and returns the highest peak on the way. The first section
// is there.
func (r *Rate) walk(w *walk, top Top, level float64) (most Top) {
	sign := math.Copysign(1, top.Height)
	most = top
	before, here := 0.0, w.Value[0]
	for ; ; w.n++ {
		k := w.n % section
		w.end = top.At + float64(w.step*float64(w.n))
		if k == 0 && w.n > 0 {
			r.section(w, w.end, sign)
		}
		next := w.Value[k+1]
		if next <= level {
			w.falls = true
			return most
		}
		if w.n > 0 && here >= before && here > next && here > float64(sign*top.Height)-1e-3 {
			u := [3]float64{sign * before, sign * here, sign * next}
			if t := r.Summit(w.end, stride, &u); sign*t.Height > float64(sign*most.Height)+1e-6 {
				most = t
			}
		}
		if w.n+1 >= furthest/stride {
			w.end += w.step
			return most
		}
		before, here = here, next
	}
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
