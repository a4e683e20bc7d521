package stages

import (
	"slices"
	"sync"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// An excess is that by which an interpolated signal passes a ceiling.
//
// It is smooth but for its corners, where the signal crosses the ceiling. They
// are found between the values of the high rate and corrected by their
// residuals before the way back, so that what is taken away is band-limited.
type excess struct {
	in        *bandlimit.Rate
	ceiling   float64
	factor    int
	residuals *bandlimit.Residuals
	back      *bandlimit.Decimator

	// All of these are counted like the interpolator's frames, values and tiles.
	owed    []float64 // what corners owe at the high rate, and what of the excess has been booked
	active  []bool    // tiles in which something is owed
	beyond  []bool    // tiles of which the excess itself has not been booked
	removed []float64 // the excess at the channel's rate
	due     []bool    // tiles in which something is to be removed
	near    bool      // whether a value of the tile sought last may lie at a corner

	corners []bandlimit.Corner // scratch: those of a tile

	run  *run // nil: all of the excess counts
	mask masks
}

// backReach is how many tiles away the excess of a tile reaches on its way back to
// the channel's rate.
const backReach = (bandlimit.After + tile - 1) / tile

// The tables of a factor are the same for every excess.
var (
	residualsOf = perFactor(bandlimit.NewResiduals)
	decimatorOf = perFactor(bandlimit.NewDecimator)
)

// perFactor makes the tables of each factor once, when they are first asked for.
func perFactor[T any](make func(int) T) func(int) T {
	tables := map[int]func() T{}
	for _, factor := range []int{2, 4, 8, 16} {
		tables[factor] = sync.OnceValue(func() T { return make(factor) })
	}
	return func(factor int) T { return tables[factor]() }
}

// newExcess is the excess of what in holds; of its broad runs only, if there is a run.
func newExcess(in *bandlimit.Interpolator, ceiling float64, factor int, r *run) *excess {
	e := &excess{
		in: in.At(factor), ceiling: ceiling, factor: factor,
		residuals: residualsOf(factor),
		back:      decimatorOf(factor),
		run:       r,
	}
	n := in.Frames() + in.Room()
	e.owed = make([]float64, n*factor)
	e.removed = make([]float64, n)
	e.active, e.beyond, e.due = make([]bool, n/tile), make([]bool, n/tile), make([]bool, n/tile)
	return e
}

func (e *excess) drop(tiles int) {
	if slices.Contains(e.active, true) {
		shiftSpent(e.owed, tiles*tile*e.factor)
	}
	if slices.Contains(e.due, true) {
		shiftSpent(e.removed, tiles*tile)
	}
	shift(e.active, tiles)
	shift(e.beyond, tiles)
	shift(e.due, tiles)
	if e.run != nil {
		e.run.first -= tiles * tile * e.factor
		e.run.end -= tiles * tile * e.factor
	}
}

// decimate takes the excess of a tile back to the channel's rate.
func (e *excess) decimate(t int) {
	from, n := t*tile*e.factor, tile*e.factor
	owed := e.owed[from : from+n]
	if e.beyond[t] {
		kernel.AddBeyond(owed, e.in.Values()[from:from+n], e.ceiling)
	} else if !e.active[t] {
		return
	}
	e.active[t], e.beyond[t] = false, false
	kernel.NonZero(e.mask.over[:], owed)
	const inGroup = 1<<bandlimit.Group - 1
	for i := 0; i < n; i += bandlimit.Group {
		if e.mask.over[i/64]>>(i%64)&inGroup != 0 {
			y := e.removed[t*tile+i/e.factor-bandlimit.Before:]
			e.back.Add(y[:bandlimit.Around], owed[i:i+bandlimit.Group])
		}
	}
	clear(owed)
	for k := t - backReach; k <= t+backReach; k++ {
		e.due[k] = true
	}
}

// take calls f with what is to be removed in a tile, if anything is, and forgets it.
func (e *excess) take(t int, f func(removed []float64)) {
	if !e.due[t] {
		return
	}
	e.due[t] = false
	r := e.removed[t*tile : (t+1)*tile]
	f(r)
	clear(r)
}
