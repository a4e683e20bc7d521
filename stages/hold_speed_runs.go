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
	// A broad run rises above broadHeight times the ceiling, or is part of a stretch above broadFrom times the
	// ceiling that lasts more than broadLength frames. It is clipped before the first pass, because pulses would
	// take too many passes: a tone of 561 Hz 6 dB over would have an SNR of 39 dB. A length of 64 leaves 50 to
	// 60 dB at 250 to 500 Hz with the hold alone; 4 is not better than 8 but for few tones.
	//
	// The length is not that of the run itself. A hold aims 0.003 dB lower than a clip before it has clipped, so
	// that dips in the ripple of a flat top graze the aim, and the last digits would tell whether that is one
	// run or two: 86 to 100 dB for 3 % of tones up to 1.5 kHz after a clip.
	broadHeight = 1.3
	broadFrom   = 0.985
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

// longFrom is the level above which a stretch may be long. If the samples alone count, that is the ceiling:
// between those that are held the signal passes it.
func (h *holder) longFrom() float64 {
	if h.heights.Factor() == 1 {
		return h.ceiling
	}
	return broadFrom * h.ceiling
}

// filledBeyond reports whether so many frames in a row are beyond broadFrom, on one side, as there are in any
// stretch that is long. They end in the tile.
func (h *holder) filledBeyond(t int) bool {
	low := h.longFrom()
	if !(h.in.At(1).Peak(t) > low) {
		return false
	}
	x := h.in.Signal()[t*tile-broadLength : (t+1)*tile]
	n, last := 0, 0.0
	for _, v := range x {
		switch {
		case !(math.Abs(v) > low):
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
	from    float64         // the level above which a stretch may be long
	open    bool
	sign    float64
	first   int  // the first of its values that has not been booked
	end     int  // where its stretch ends, as far as that has been looked for
	long    bool // whether that is long
	broad   bool // and therefore booked so far
}

// seekRuns books the excess of those runs that are broad, as soon as they are known to be.
func (e *excess) seekRuns(t int) {
	n := tile * e.factor
	from, r := t*n, e.run
	var none [len(e.mask.turns)]uint64
	e.eachCorner(from, none[:n/64], func(m int, sign float64, enters bool) {
		if enters {
			r.open, r.broad, r.first = true, false, m+1
			if m+1 >= r.end || sign != r.sign { // it is not of the stretch of the one before
				r.sign = sign
				r.long = e.isLong(m+1, sign)
			}
			return
		}
		if !r.open { // it began in a tile that was skipped
			return
		}
		if r.broad || r.long || e.isHigh(m+1) {
			e.bookRun(m + 1)
			e.cross(m, sign, false)
		}
		r.open = false
	}, nil)
	if r.open && (r.broad || r.long) {
		e.bookRun(from + n)
	}
}

// skip goes on to the next tile, of which no broad run has a part.
func (e *excess) skip() { e.near, e.run.open = false, false }

// isHigh reports whether the open run, which ends before value end, has a peak that is, between the values.
func (e *excess) isHigh(end int) bool {
	r := e.run
	per := e.factor / r.heights.Factor()
	return rises(r.heights, (r.first+per-1)/per, (end+per-1)/per, broadHeight*e.ceiling)
}

// isLong reports whether the stretch around value m that is above broadFrom lasts more than broadLength
// frames.
func (e *excess) isLong(m int, sign float64) bool {
	const long = broadLength * holdFactor
	const reach = long + 2*holdFactor // values to either side that tell
	e.in.Fill((m - reach) / (tile * holdFactor))
	e.in.Fill((m + reach) / (tile * holdFactor))
	u, low := e.in.Values(), e.run.from
	from, to := m, m
	for from > m-reach && sign*u[from] > low {
		from--
	}
	for to < m+reach && sign*u[to] > low {
		to++
	}
	e.run.end = to
	if n := to - from; n > long+1 || n < long {
		return n > long
	}
	x, _, _, _ := e.in.Cross(from, sign*low, sign > 0)
	y, _, _, _ := e.in.Cross(to-1, sign*low, sign < 0)
	return float64(to-1-from)+(y-x) > long
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
