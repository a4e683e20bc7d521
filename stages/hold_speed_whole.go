package stages

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// What lets most tiles go without a long reading, or without any. A tile's top is what it has above 20.5/44.1
// of the rate.
const (
	// lowTakes times the top is the most that a peak rises when a converter takes that away. Half of it would do
	// for what is nearer to half the rate, but a converter takes a little below 20.5/44.1 too.
	lowTakes = 2
	// roughTakes times the top is the most that a short reading leaves out, and nearMost times it what is
	// nearest to half the rate.
	roughTakes = 1.5
	nearMost   = 1.25
	// nearSpared is how much near half the rate, as a part of the ceiling, makes no difference: so much below it
	// is what the holder leaves.
	nearSpared = 0.0002
)

// acts reports whether the hop in the middle of a stretch is to be held: whether a peak of it passes the
// ceiling, or one of what a converter leaves of it passes lowFires. Tiles are read by themselves, which does
// not see in full what is near half the rate. The whole stretch is read only where that may decide.
func (w *wholeBand) acts(stretch []float64) bool {
	if w.samples {
		w.ready()
		return kernel.Within(stretch[hop/2:][:hop], w.ceiling) < hop
	}
	// Unless a sample around is half as high as the ceiling, no peak passes it.
	if around := stretch[hop/2-2 : hop/2+hop+2]; kernel.Within(around, w.ceiling/2) == len(around) {
		return false
	}
	kernel.Scan(stretch[hop/2-wholeMargin-2:hop/2+hop+wholeMargin], w.cells[0][:], w.cells[1][:])
	low := float64(w.ceiling * Linear(lowFires))
	w.pair = -1
	clear(w.unsure[:])
	for t := firstTile; t < hopEnd; t++ {
		if w.tileActs(stretch, t, low) {
			return true
		}
	}
	return slices.Contains(w.unsure[:], true) && w.wholeActs(stretch)
}

// tileActs reports whether a tile, read by itself, makes its hop act, and notes if only the whole stretch can
// tell. low is the level that what a converter leaves may reach.
func (w *wholeBand) tileActs(stretch []float64, t int, low float64) bool {
	top, may := w.mayPass(stretch, t)
	if !may {
		return false
	}
	w.read.ReadTile(stretch, t)
	peak := w.highest(t, min(w.ceiling-float64(nearMost*top), low-float64(lowTakes*top)))
	if peak > w.ceiling {
		return true
	}
	if peak > w.ceiling-float64(nearMost*top) {
		by := w.read.Near(stretch, t*tile)
		w.unsure[t] = by > nearSpared*w.ceiling && peak > w.ceiling-by
	}
	if peak <= low-float64(lowTakes*top) {
		return false
	}
	w.read.ReadTileLow(stretch, t)
	return w.anyPeak(t, low, true)
}

// wholeActs reports whether a peak passes the ceiling in the tiles that are unsure, by the whole stretch.
func (w *wholeBand) wholeActs(stretch []float64) bool {
	w.read.Load(stretch)
	for t := firstTile; t < hopEnd; t++ {
		if w.unsure[t] && w.anyPeak(t, w.ceiling, false) {
			return true
		}
	}
	return false
}

// highest is the magnitude of the highest peak of a tile that passes a level, 0 if there is none.
func (w *wholeBand) highest(t int, level float64) (peak float64) {
	w.tall = w.read.Peaks(w.tall[:0], t, level, false)
	for _, p := range w.tall {
		peak = max(peak, math.Abs(p.Height))
	}
	return peak
}

func (w *wholeBand) anyPeak(t int, level float64, low bool) bool {
	w.tall = w.read.Peaks(w.tall[:0], t, level, low)
	return len(w.tall) > 0
}

const (
	// A reading of a tile depends on so many frames around it, in whole cells.
	wholeMargin = 4 * kernel.Cell
	wholeCells  = (hop + 2*wholeMargin) / kernel.Cell
	tileCells   = tile / kernel.Cell
)

// mayPass reports whether what there is near half the rate in a tile may make a peak of it pass the ceiling,
// and how much there is.
func (w *wholeBand) mayPass(stretch []float64, t int) (top float64, may bool) {
	const rise = 1.4 // so many times the largest sample around the signal may be, as the holder leaves it
	cell := (t*tile - hop/2 + wholeMargin) / kernel.Cell
	most := slices.Max(w.cells[0][cell-1:][:tileCells+2])
	bend := slices.Max(w.cells[1][cell-3:][:tileCells+6])
	bound := most + float64(bandlimit.TileBend*bend) + float64(bandlimit.TileRest*w.ceiling)
	if most < w.ceiling/2 || bound < w.ceiling {
		return 0, false
	}
	w.ready()
	if pair := t * tile / bandlimit.TopFrames; pair != w.pair {
		w.pair, w.top = pair, w.read.Top(stretch, pair*bandlimit.TopFrames)
	}
	top = w.top
	limit := float64(w.ceiling * (1 + nearSpared))
	if min(rise*most, w.ceiling)+top <= limit {
		return top, false
	}
	return top, w.read.Rough(stretch, t)+float64(roughTakes*top) > limit
}
