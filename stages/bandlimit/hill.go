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
	apart  [AtOnce]bool // whether Summit has found the top, which may be far from the polynomial's
	places [AtOnce]int  // the middles of the polynomials, in halves of a value
	kernel kernel.Hills
}

// AtOnce is how many peaks Hills has at most.
const AtOnce = len(kernel.Hills{}.X)

// find calls f with the peaks of r at which bits of the mask are set, up to four at a time and in their order
// in time. Bit i is for a peak near u[i+1], a value at four times the track's rate, which lies at place
// first+i, counted in halves of a value of r.
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

// climb finds the tops. Where the polynomial's cannot be the peak that the values show, Summit finds it.
func (h *Hills) climb(u []float64, first int) {
	k := &h.kernel
	k.Find(hills(), h.rate.values, &h.places)
	for i, place := range h.places[:h.n] {
		near := (*[3]float64)(u[place-first:])
		here, bend := math.Abs(near[1]), math.Abs((near[0]-near[1])+(near[2]-near[1]))
		high, x := math.Copysign(1, near[1])*k.Height[i], k.X[i]
		h.apart[i] = !(k.Bend[i]*k.Height[i] < 0 && x > -0.5 && x < 0.5 && math.Abs(k.Step[i]) < kernel.HillStep &&
			high >= here*(1-rest) && high <= here+float64(4*bend))
		if h.apart[i] {
			h.tops[i] = h.rate.Summit(float64(place)/2, 0.5, near)
			continue
		}
		h.tops[i] = Top{float64(0.5*float64(place)) + x, k.Height[i], k.Bend[i]}
	}
}

// Tops are the peaks.
func (h *Hills) Tops() []Top { return h.tops[:h.n] }

// Descend goes down the sides of the hills, each to halfway from its peak to a level. A level that is no
// lower than the peak is not reached.
func (h *Hills) Descend(levels *[AtOnce]float64) {
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

// hiddenBelow is how much lower than the aim, as a part of it, the places at which Descend looks may be where
// a peak between two of them passes the aim.
const hiddenBelow = 0.01

// MayHide reports whether there may be another peak that passes the aim within a value and a half before hill
// i, on side 0, or after it, on side 1: whether the signal rises there. Descend has been called. If it misses
// a peak, the dip before that one is so shallow that its middle is the hill's own.
func (h *Hills) MayHide(i, side int, aim float64) bool {
	return h.apart[i] || h.kernel.Rises[side][i]+h.kernel.Level[i] > aim*(1-hiddenBelow)
}

// Middle is Rate.Middle of hill i and the level for which Descend has been called.
func (h *Hills) Middle(i int, level float64) Top {
	k, top := &h.kernel, h.tops[i]
	before, after := k.Down[0][i], k.Down[1][i]
	if h.apart[i] || before == 0 || after == 0 || k.Rises[0][i] > 0 || k.Rises[1][i] > 0 {
		return h.rate.Middle(top, level)
	}
	if math.Abs(top.Bend)*sharp > math.Abs(top.Height)-k.Level[i] {
		return top
	}
	return Top{At: top.At + float64(0.5*(after-before)), Height: top.Height}
}
