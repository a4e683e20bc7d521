package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

const (
	// A broad run rises above this many times the ceiling, or lasts more than this many frames.
	// Left to pulses, a tone of 561 Hz 6 dB over has an SNR of 39 dB. A limit of 64 frames leaves 50 to 60 dB at 250 to
	// 500 Hz with the hold alone; 4 is not better than 8 but for few tones.
	broadHeight = 1.3
	broadLength = 8
	// runReach is how many tiles back a run that turns out to be broad may have begun.
	runReach = broadLength/tile + 1
)

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
		if !r.open { // it began in a tile that was passed over
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

// pass goes on to the next tile, of which no broad run has a part.
func (e *excess) pass() { e.passed, e.run.open = false, false }

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
