package stages

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// A topCut is how much of what pulses cannot take down is taken away in a hop: near half the rate, and of
// all that lies above bandlimit.High. Either is 0 to 1; near is 1 in a hop whose peaks pass the ceiling.
type topCut struct{ near, high float64 }

const (
	// topFade is how many frames it takes to take something away, and to let it through again.
	topFade = 1024
	// lowFires is how far what a converter of rates leaves may be beyond the ceiling before a stretch is looked at for
	// that, in dB. Of one that is, what passes lowOver is taken down to lowAim.
	lowFires = 0.014
	lowOver  = 0.010
	lowAim   = 0.008
	// lowTakes times what is above 20.5/44.1 of the rate is the most that a peak rises when a converter takes that away; half
	// of it would do for what is nearer to half the rate, but it takes a little below 20.5/44.1 too.
	lowTakes = 2
	// roughTakes times it is the most that a short reading leaves out, and nearMost times it what is nearest to half the rate.
	roughTakes = 1.5
	nearMost   = 1.25
	// Beside much else what is above bandlimit.High keeps half the ceiling, by itself nearly all.
	highShare = 0.5
	highAlone = 0.985
	// nearSpared is how much near half the rate, as a part of the ceiling, makes no difference: so much below it is
	// what the holder leaves.
	nearSpared = 0.0002
)

// judge tells what is to be taken away in the hop in the middle of a stretch.
func (w *wholeBand) judge(stretch []float64) topCut {
	if !w.passes(stretch) {
		return topCut{}
	}
	if w.samples { // pulses at samples change what there is up there, and take next to nothing of it off
		w.near = append(w.near[:0], stretch...)
		stretch = w.near
		w.input(stretch, w.start+int64(w.at)+2*hop)
	}
	w.upper = append(w.upper[:0], stretch...)
	w.read.Shaped(w.upper, w.upper, bandlimit.High())
	high, rest := 0.0, 0.0
	for i := hop/2 - topFade; i < hop/2+hop+topFade; i++ {
		high, rest = max(high, math.Abs(w.upper[i])), max(rest, math.Abs(stretch[i]-w.upper[i]))
	}
	keep := max(highShare*w.ceiling, float64(highAlone*w.ceiling)-rest)
	return topCut{near: 1, high: max(0, 1-keep/max(high, keep))}
}

// passes reports whether a peak of the hop in the middle of a stretch passes the ceiling, or of what a converter leaves of
// it by more than a little. Tiles are read by themselves; the whole stretch only where what is near half the rate, which
// that does not see in full, may decide.
func (w *wholeBand) passes(stretch []float64) bool {
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
	near := false
	w.pair = -1
	for t := hopTiles / 2; t < hopTiles/2+hopTiles; t++ {
		top, may := w.mayPass(stretch, t)
		if !may {
			continue
		}
		w.read.ReadTile(stretch, t)
		peak := w.highest(t, min(w.ceiling-float64(nearMost*top), low-float64(lowTakes*top)))
		if peak > w.ceiling {
			return true
		}
		if !near && peak > w.ceiling-float64(nearMost*top) {
			by := w.read.Near(stretch, t*tile)
			near = by > nearSpared*w.ceiling && peak > w.ceiling-by
		}
		if peak <= low-float64(lowTakes*top) {
			continue
		}
		w.read.ReadTileLow(stretch, t)
		if w.anyPeak(t, low, true) {
			return true
		}
	}
	if !near {
		return false
	}
	w.read.Load(stretch)
	for t := hopTiles / 2; t < hopTiles/2+hopTiles; t++ {
		if w.anyPeak(t, w.ceiling, false) {
			return true
		}
	}
	return false
}

// highest is the magnitude of the highest peak of a tile that passes a level, 0 if there is none.
func (w *wholeBand) highest(t int, level float64) (peak float64) {
	w.peaks = w.read.Peaks(w.peaks[:0], t, level, false)
	for _, p := range w.peaks {
		peak = max(peak, math.Abs(p.Height))
	}
	return peak
}

func (w *wholeBand) anyPeak(t int, level float64, low bool) bool {
	w.peaks = w.read.Peaks(w.peaks[:0], t, level, low)
	return len(w.peaks) > 0
}

const (
	// A reading of a tile depends on so many frames around it, in whole cells.
	wholeMargin = 4 * kernel.Cell
	wholeCells  = (hop + 2*wholeMargin) / kernel.Cell
	tileCells   = tile / kernel.Cell
)

// mayPass reports whether what there is near half the rate in a tile may make a difference to its peaks, and how much there is.
func (w *wholeBand) mayPass(stretch []float64, t int) (top float64, may bool) {
	const rise = 1.4 // times the largest sample around: as high as the holder may have let the signal be
	cell := (t*tile - hop/2 + wholeMargin) / kernel.Cell
	most := slices.Max(w.cells[0][cell-1:][:tileCells+2])
	bend := slices.Max(w.cells[1][cell-3:][:tileCells+6])
	if most < w.ceiling/2 || most+float64(bandlimit.TileBend*bend)+float64(bandlimit.TileRest*w.ceiling) < w.ceiling {
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

// cleanHop takes away what is to be taken away in the hop in the middle of the stretch that begins at an index of raw. How much that
// is rises and falls in the hop that needs less. It reports whether the hop is to be held.
func (w *wholeBand) cleanHop(from int) bool {
	mine := w.raw[from+hop/2:][:hop]
	before, here, after := w.tops[0], w.tops[1], w.tops[2]
	if max(before.near, here.near, after.near) == 0 {
		return false
	}
	stretch := w.raw[from:][:wholeFrames]
	w.near = append(w.near[:0], stretch...)
	if w.touched[0] {
		copy(w.near, w.before[:]) // the hop before has been cleaned
	}
	w.upper = append(w.upper[:0], w.near...)
	copy(w.before[:], mine[hop/2:])
	w.read.Shaped(w.near, w.near, bandlimit.NearHalf())
	for i := range mine {
		mine[i] -= float64(gainAt(i, before.near, here.near, after.near) * w.near[hop/2+i])
	}
	if max(before.high, here.high, after.high) > 0 {
		w.read.Shaped(w.upper, w.upper, bandlimit.High())
		for i := range mine {
			mine[i] -= float64(gainAt(i, before.high, here.high, after.high) * (w.upper[hop/2+i] - w.near[hop/2+i]))
		}
	}
	w.trim(mine, from+hop/2)
	return true
}

// gainAt is the gain at a frame of a hop, between those of the hops around it.
func gainAt(i int, before, here, after float64) float64 {
	g := here
	if before > here && i < topFade {
		g += float64((before - here) * bandlimit.Rise(1-float64((float64(i)+0.5)/topFade)))
	}
	if after > here && i >= hop-topFade {
		g += float64((after - here) * bandlimit.Rise(1-float64((float64(hop-i)-0.5)/topFade)))
	}
	return g
}

// trim silences what lies outside of the track, of a part of raw that begins at an index.
func (w *wholeBand) trim(x []float64, at int) (trimmed bool) {
	first := w.start + int64(at)
	if first >= 0 && first+int64(len(x)) <= w.end {
		return false
	}
	for i := range x {
		if n := first + int64(i); (n < 0 || n >= w.end) && x[i] != 0 {
			x[i], trimmed = 0, true
		}
	}
	return trimmed
}
