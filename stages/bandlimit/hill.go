package bandlimit

import (
	"math"
	"math/bits"

	"ledgerline/stages/kernel"
)

// Hills are peaks of the signal, up to four at a time, and the polynomials around them.
type Hills struct {
	rate   *Rate
	n      int
	tops   [AtOnce]Top
	apart  [AtOnce]bool // whether the top is not the polynomial's near its place
	places [AtOnce]int  // the middles of the polynomials, in halves of a value
	kernel kernel.Hills
}

// AtOnce is how many peaks Hills has at most.
const AtOnce = len(kernel.Hills{}.X)

// find calls f with the peaks of r at which bits of the mask are set, up to four at a time and in their order
// in time. Bit i is for a peak near u[i+1], a value at four times the track's rate, which lies at place
// first+i, counted in halves of a value of r. One that is not there has a height of 0.
func (h *Hills) find(r *Rate, u []float64, first int, mask []uint64, f func(*Hills)) {
	h.rate, h.n = r, 0
	for word, set := range mask {
		for ; set != 0; set &= set - 1 {
			h.places[h.n] = first + 64*word + bits.TrailingZeros64(set)
			if h.n++; h.n == AtOnce {
				h.climb(u, first)
				f(h)
				h.n = 0
			}
		}
	}
	if h.n > 0 {
		for i := h.n; i < AtOnce; i++ {
			h.places[i] = h.places[0]
		}
		h.climb(u, first)
		f(h)
	}
}

// climb finds the tops.
func (h *Hills) climb(u []float64, first int) {
	h.kernel.Find(hills(), h.rate.values, &h.places)
	for i, place := range h.places[:h.n] {
		h.tops[i], h.apart[i] = h.top(i, (*[3]float64)(u[place-first:]))
	}
}

// top is the peak of hill i, and whether it is not the polynomial's near its place. If the climb has not led
// to the peak that the values show, the one nearest to the place is sought, and if there is none, Summit
// finds what is next to the middle one of the three values, where that is the largest.
func (h *Hills) top(i int, near *[3]float64) (top Top, apart bool) {
	k, place := &h.kernel, float64(0.5*float64(h.places[i]))
	if h.ended(i, near) || k.Seek(i, math.Copysign(1, near[1])) {
		return Top{place + k.X[i], k.Height[i], k.Bend[i]}, math.Abs(k.X[i]) > 0.5
	}
	if here := math.Abs(near[1]); here > math.Abs(near[0]) && here >= math.Abs(near[2]) {
		return h.rate.Summit(place, 0.5, near), true
	}
	return Top{}, true
}

// ended reports whether a climb has ended at a peak that may be what the values show.
func (h *Hills) ended(i int, near *[3]float64) bool {
	k, sign := &h.kernel, math.Copysign(1, near[1])
	here, bend := math.Abs(near[1]), math.Abs((near[0]-near[1])+(near[2]-near[1]))
	high, x := sign*k.Height[i], k.X[i]
	return k.Bend[i]*k.Height[i] < 0 && x > -0.5 && x < 0.5 && math.Abs(k.Step[i]) < kernel.HillStep &&
		high >= here*(1-rest) && high <= here+float64(4*bend)
}

// hiddenFrom is how far from a peak, in values at twice the rate, a hidden one is sought: beyond any that is
// closer than two values at four times the rate.
const hiddenFrom = 1.05

// Each calls f with each of the peaks that pass an aim, and with those that they hide, in their order but for
// what is hidden. level is what a peak at a place is to come down to; f is told it, and which hill the peak
// is, -1 if none.
//
// Of two humps closer than two values at four times the rate, those values show one or both, depending on
// where they lie (6310.0 Hz, 2.5 dB over: 79 dB). So where the signal rises beside a peak, one is
// sought on that side. If it is the same peak, f is called with that again.
func (h *Hills) Each(aim float64, level func(at float64) float64, f func(top Top, hill int, level float64)) {
	var levels [AtOnce]float64
	for i, top := range h.Tops() {
		if levels[i] = math.MaxFloat64; math.Abs(top.Height) > aim {
			levels[i] = level(top.At)
		}
	}
	h.descend(&levels)
	hidden := func(place, sign float64) {
		if top, ok := h.rate.near(place, sign); ok && math.Abs(top.Height) > max(aim, 0) {
			f(top, -1, level(top.At))
		}
	}
	for i, top := range h.Tops() {
		if !(math.Abs(top.Height) > max(aim, 0)) {
			continue
		}
		if h.mayHide(i, 0, aim) {
			hidden(top.At-hiddenFrom, top.Height)
		}
		f(top, i, levels[i])
		if h.mayHide(i, 1, aim) {
			hidden(top.At+hiddenFrom, top.Height)
		}
	}
}

// near is the peak, of a sign, that is nearest to a place, and whether there is one close to it. A climb from
// there may end where there is none (6857.0 Hz, 3.9 dB over: 95 dB).
func (r *Rate) near(place, sign float64) (Top, bool) {
	var k kernel.Hills
	var places [AtOnce]int
	for i := range places {
		places[i] = int(2*place + 0.5)
	}
	k.Find(hills(), r.values, &places)
	if !k.Seek(0, math.Copysign(1, sign)) {
		return Top{}, false
	}
	return Top{float64(0.5*float64(places[0])) + k.X[0], k.Height[0], k.Bend[0]}, true
}

// Tops are the peaks.
func (h *Hills) Tops() []Top { return h.tops[:h.n] }

// descend goes down the sides of the hills, each to halfway from its peak to a level. A level that is no
// lower than the peak is not reached.
func (h *Hills) descend(levels *[AtOnce]float64) {
	k := &h.kernel
	for i := range k.Level {
		high := math.Abs(k.Height[i])
		k.Level[i] = high
		if i < h.n && levels[i] < high {
			k.Level[i] = levels[i] + float64((high-levels[i])/2)
		}
	}
	k.Descend()
}

// hiddenBelow is how much lower than the aim, as a part of it, the places at which descend looks may be where
// a peak between two of them passes the aim.
const hiddenBelow = 0.01

// mayHide reports whether there may be another peak that passes the aim within a value and a half before hill
// i, on side 0, or after it, on side 1: whether the signal rises there. descend has been called. If it misses
// a peak, the dip before that one is so shallow that its middle is the hill's own.
func (h *Hills) mayHide(i, side int, aim float64) bool {
	return h.apart[i] || h.kernel.Rises[side][i]+h.kernel.Level[i] > aim*(1-hiddenBelow)
}

// Middle is Rate.Middle of a peak and its level, as Each tells them.
func (h *Hills) Middle(top Top, i int, level float64) Top {
	if i < 0 {
		return h.rate.Middle(top, level)
	}
	k := &h.kernel
	before, after := k.Down[0][i], k.Down[1][i]
	if h.apart[i] || before == 0 || after == 0 || k.Rises[0][i] > 0 || k.Rises[1][i] > 0 {
		return h.rate.Middle(top, level)
	}
	if math.Abs(top.Bend)*sharp > math.Abs(top.Height)-k.Level[i] {
		return top
	}
	return Top{At: top.At + float64(0.5*(after-before)), Height: top.Height}
}
