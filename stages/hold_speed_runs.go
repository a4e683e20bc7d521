package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

const (
	// holdFactor is the multiple of the track's rate at which broad runs are clipped.
	holdFactor = 4
	// A broad run rises above broadHeight times the ceiling, or lasts more than broadLength frames. It is
	// clipped before the first pass, because pulses would take too many passes: a tone of 561 Hz 6 dB over would
	// have an SNR of 39 dB. A length of 64 leaves 50 to 60 dB at 250 to 500 Hz with the hold alone; 4 is not
	// better than 8 but for few tones.
	broadHeight = 1.3
	broadLength = 8
	// runReach is how many tiles back a run that turns out to be broad may have begun.
	runReach = broadLength/tile + 1
)

// mayBeHigh reports whether a peak in a tile is as high as makes a run broad.
func (h *holder) mayBeHigh(t int) bool {
	high := broadHeight * h.ceiling
	if h.heights.Factor() == 1 {
		return h.heights.MayPass(t, high)
	}
	if !h.heights.MayPass(t, calm(2)*high) {
		return false
	}
	n := 2 * tile
	h.heights.Fill(t - 1)
	h.heights.Fill(t + 1)
	return rises(h.heights, t*n, (t+1)*n, high)
}

// filledBeyond reports whether so many frames in a row are beyond the ceiling, on one side, as there are in
// any run that is broad for its length. They end in the tile.
func (h *holder) filledBeyond(t int) bool {
	if !(h.in.At(1).Peak(t) > h.ceiling) {
		return false
	}
	x := h.in.Signal()[t*tile-broadLength : (t+1)*tile]
	n, last := 0, 0.0
	for _, v := range x {
		switch {
		case !(math.Abs(v) > h.ceiling):
			n = 0
			continue
		case n > 0 && math.Signbit(v) == math.Signbit(last):
			n++
		default:
			n = 1
		}
		last = v
		if n >= broadLength-1 {
			return true
		}
	}
	return false
}

// seekBroad books the broad runs up to the tile before one. It looks only near tiles in which a peak may be
// high enough or a run long enough.
func (h *holder) seekBroad(t int) {
	h.hot[t] = h.mayBeHigh(t) || h.filledBeyond(t)
	if h.hot[t-2] || h.hot[t-1] || h.hot[t] {
		h.broad.seek(t - 1)
	} else {
		h.broad.skip()
	}
}

// takeRuns takes off what has been booked of broad runs.
func (h *holder) takeRuns(t int) {
	h.broad.decimate(t - 2 - runReach)
	h.broad.take(t-clipDelay, func(removed []float64) { h.in.Remove(t-clipDelay, removed) })
}

// A run is the stretch from where an excess enters to where it leaves zero.
type run struct {
	heights *bandlimit.Rate // the rate at which it is told how high it is
	open    bool
	sign    float64
	first   int     // the first of its values that has not been booked
	from    float64 // where it entered, in values
	broad   bool    // and therefore booked so far
}

// seekRuns books the excess of those runs that are broad, as soon as they are known to be.
func (e *excess) seekRuns(t int) {
	n := tile * e.factor
	from, r := t*n, e.run
	var none [len(e.mask.turns)]uint64
	e.eachCorner(from, none[:n/64], func(m int, sign float64, enters bool) {
		if enters {
			x, _, _, _ := e.in.Cross(m, sign*e.ceiling, sign > 0)
			*r = run{heights: r.heights, open: true, sign: sign, first: m + 1, from: float64(m) + x}
			return
		}
		if !r.open { // it began in a tile that was skipped
			return
		}
		if r.broad || e.isBroad(m+1) {
			e.bookRun(m + 1)
			e.cross(m, sign, false)
		}
		r.open = false
	}, nil)
	if r.open && (r.broad || from+n-r.first > (broadLength+1)*e.factor) {
		e.bookRun(from + n)
	}
}

// skip goes on to the next tile, of which no broad run has a part.
func (e *excess) skip() { e.near, e.run.open = false, false }

// isBroad reports whether the open run, which ends before value end, is: by where it crosses the ceiling
// and by how high its peaks are, between the values.
func (e *excess) isBroad(end int) bool {
	r := e.run
	if end-r.first > (broadLength-1)*e.factor {
		x, _, _, _ := e.in.Cross(end-1, r.sign*e.ceiling, r.sign < 0)
		if float64(end-1)+x-r.from > float64(broadLength*e.factor) {
			return true
		}
	}
	per := e.factor / r.heights.Factor()
	return rises(r.heights, (r.first+per-1)/per, (end+per-1)/per, broadHeight*e.ceiling)
}

// bookRun books the excess of the open run up to value end-1, the corner where it
// enters included, and the gaps in it that are shorter than from one value to the next.
func (e *excess) bookRun(end int) {
	r, u := e.run, e.in.Values()
	if !r.broad {
		e.cross(r.first-1, r.sign, true)
	}
	r.broad = true
	n := tile * e.factor
	for m := r.first; m < end; m++ {
		e.owed[m] += u[m] - float64(r.sign*e.ceiling)
		e.active[m/n] = true
		a, b, d := math.Abs(u[m-1]), math.Abs(u[m]), math.Abs(u[m+1])
		if bend := (a - b) + (d - b); b < a && b <= d && b-float64(bend/4) <= e.ceiling {
			e.corners = e.graze(e.corners[:0], m)
			e.book(e.corners)
		}
	}
	r.first = end
}

// rises reports whether the signal passes a level at a peak near one of the values from first to end-1. At
// the track's rate the values count alone; at twice that, what lies between them.
func rises(at *bandlimit.Rate, first, end int, level float64) bool {
	u := at.Values()
	if at.Factor() == 1 {
		return kernel.MaxAbs(u[first:end]) > level
	}
	var mask [1]uint64
	for from := first; from < end; from += 64 {
		kernel.Peaks(u, from, 64, level, coarseGive, mask[:])
		for set := mask[0]; set != 0; set &= set - 1 {
			m := from + bits.TrailingZeros64(set)
			if m >= end {
				break
			}
			if top := at.Summit(float64(m), 1, (*[3]float64)(u[m-1:])); math.Abs(top.Height) > level {
				return true
			}
		}
	}
	return false
}
