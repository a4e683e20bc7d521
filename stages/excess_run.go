package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

const (
	// A broad run rises above this many times the ceiling, or lasts more than this many frames.
	broadHeight = 1.3
	broadLength = tile
	// runReach is how many tiles back a run that turns out to be broad may have begun.
	runReach = broadLength/tile + 1
)

// A run is the stretch from where an excess enters to where it leaves zero.
type run struct {
	heights *bandlimit.Rate // the rate at which it is told how high it is
	open    bool
	sign    float64
	first   int  // the first of its values that has not been booked
	broad   bool // and therefore booked so far
}

// seekRuns books the excess of those runs that are broad, as soon as they are known to be.
func (e *excess) seekRuns(t int) {
	n := tile * e.factor
	from, r := t*n, e.run
	var none [len(e.mask.turns)]uint64
	e.eachCorner(from, none[:n/64], func(m int, sign float64, enters bool) {
		if enters {
			*r = run{heights: r.heights, open: true, sign: sign, first: m + 1}
			return
		}
		if !r.open { // it began in a tile that was passed over
			return
		}
		if r.broad || e.isBroad(r.first, m+1) {
			e.bookRun(m + 1)
			e.cross(m, sign, false)
		}
		r.open = false
	})
	if r.open && (r.broad || from+n-r.first > broadLength*e.factor) {
		e.bookRun(from + n)
	}
}

// pass goes on to the next tile, of which no broad run has a part.
func (e *excess) pass() { e.passed, e.run.open = false, false }

// isBroad reports whether a run of the values first to end-1 is.
func (e *excess) isBroad(first, end int) bool {
	at, per := e.run.heights, e.factor/e.run.heights.Factor()
	values := at.Values()[(first+per-1)/per : (end+per-1)/per]
	return end-first > broadLength*e.factor || kernel.MaxAbs(values) > broadHeight*e.ceiling
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
		e.owed[m] += u[m] - r.sign*e.ceiling
		e.active[m/n] = true
		a, b, d := math.Abs(u[m-1]), math.Abs(u[m]), math.Abs(u[m+1])
		if bend := (a - b) + (d - b); b < a && b <= d && b-bend/4 <= e.ceiling {
			e.graze(m)
		}
	}
	r.first = end
}
