package stages

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

const (
	// wholePasses is how many passes at the peaks of one reading follow each other. A pass leaves a quarter
	// of what the peaks of a tone near half the rate are over, and less on programme.
	wholePasses = 12
	// wholeRounds is how often the peaks of a stretch and those of what a converter leaves of it are taken down
	// in turn, at most, and how often the stretch is read again where the track's ends have cut pulses off.
	// wholeWork is how many passes that may take in all. Noise takes 20 to 30.
	wholeRounds = 12
	wholeWork   = 150
	// wholeFinal is how many frames before the end of a hop it is final.
	wholeFinal = 4 * tile
	// wholeEdge is how many frames to either side of a pulse peaks are to be sought again: the 36 that it
	// changes, and some more by which peaks next to those are found.
	wholeEdge = 48

	firstTile = hop / 2 / tile // of a stretch, the first tile of its hop
	hopEnd    = firstTile + hopTiles
	heldFrom  = firstTile - seamTiles
	heldTo    = hopEnd + seamTiles
	readReach = 3 * tile // frames to either side that a reading depends on
)

// holdHop takes the peaks of the first hop down, of all linked channels, and joins it to the one before it.
func (w *wholeBand) holdHop() {
	for _, o := range w.linked {
		o.beginSeams()
	}
	w.lowerAll()
	for _, o := range w.linked {
		o.joinSeams()
		o.keepSeam()
	}
}

// lowerAll takes the peaks of the first hop down, and those next to it.
func (w *wholeBand) lowerAll() {
	w.work = 0
	for range wholeRounds {
		for _, o := range w.linked {
			o.open()
		}
		acted := false
		for range wholeRounds {
			a := w.lower(false)
			b := w.lower(true)
			acted = acted || a || b
			if !b || w.work > wholeWork {
				break
			}
		}
		if !acted {
			return
		}
		trimmed := false
		for _, o := range w.linked {
			// What pulses do beyond the track's ends is lost, so that peaks there come back. Elsewhere the
			// reading is still right.
			trimmed = o.trim(o.part(), o.at+hop/2-wholeFinal) || trimmed
		}
		if !trimmed || w.work > wholeWork {
			return
		}
	}
}

// open begins to hold the first hop. Filters read it, tile by tile, where they see all: not at the track's
// ends, where the signal may break off, nor where a fade leaves something near half the rate. The tiles to be
// looked at are those that may have a peak beyond the aim; in a hop that did not act by itself, only those of
// them that have been changed. Those before the hop are among them if the hop before has been held too.
func (w *wholeBand) open() {
	x := w.raw[w.at:][:wholeFrames]
	if first := w.start + int64(w.at); w.exact[0] || first < 0 || first+wholeFrames > w.end {
		w.read.OpenWhole(x)
	} else {
		w.read.Open(x)
	}
	const around = 3
	var cells [2][heldTo - heldFrom + 2*around]float64
	kernel.Scan(x[(heldFrom-around)*tile-2:], cells[0][:], cells[1][:])
	aim := float64(w.ceiling*Linear(-wholeAim)) - float64(bandlimit.TileRest*w.ceiling)
	from := firstTile
	if w.joins {
		from = heldFrom
	}
	clear(w.news[0][:])
	for t := from; t < heldTo; t++ {
		most := slices.Max(cells[0][t-heldFrom+around-1:][:3])
		bend := slices.Max(cells[1][t-heldFrom:][:2*around+1])
		changed := t < w.unchanged[0][0] || t >= w.unchanged[0][1]
		w.news[0][t] = changed && most+float64(bandlimit.TileBend*bend) > aim
	}
	w.news[1] = w.news[0]
	w.struck.clear()
	clear(w.lows[:])
}

// part is what may be changed when the first hop is held.
func (w *wholeBand) part() []float64 {
	return w.raw[w.at:][hop/2-wholeFinal : hop/2+hop+wholeFinal]
}

// lower takes peaks down in passes, of the stretch or of what a converter of rates leaves of it, and reports
// whether there was one. One that the holder has left right below the ceiling stays as it is. Otherwise
// pulses at the end of a hop would raise others in the next, where nothing looks for them.
func (w *wholeBand) lower(low bool) bool {
	aim := w.ceiling * Linear(-wholeAim)
	if low {
		aim = w.ceiling * Linear(lowAim)
	}
	for pass := range wholePasses {
		w.work++
		found := false
		for _, o := range w.linked {
			found = o.find(low) || found
		}
		if !found {
			return pass > 0
		}
		w.cutAll(aim, wholeLeast, func(of *wholeBand, at float64) float64 { return of.read.FilledValue(at, low) })
		for _, o := range w.linked {
			o.read.Take(o.pulses)
			o.noteSeam()
		}
	}
	return true
}

// find finds the peaks that pass their level where something may have changed, and reports whether there is
// one.
func (w *wholeBand) find(low bool) bool {
	news := &w.news[0]
	if low {
		news = &w.news[1]
	}
	alone, near := w.wholeLevels(low)
	level := func(at float64) float64 { return max(near, alone-float64(wholeNear*w.struck.near(at))) }
	w.peaks = w.peaks[:0]
	for t := heldFrom; t < heldTo; t++ {
		if news[t] {
			news[t] = false
			if !low || w.mayLow(t) {
				w.peaks = w.read.FilledPeaks(w.peaks, t, near, low, level)
			}
		}
	}
	return len(w.peaks) > 0
}

// mayLow reports whether what a converter leaves of a tile may pass lowOver where the tile itself is within
// the ceiling.
func (w *wholeBand) mayLow(t int) bool {
	pair := t * tile / bandlimit.TopFrames
	const unknown, within, may = 0, 1, 2
	if w.lows[pair] == unknown {
		top := w.read.Top(w.raw[w.at:][:wholeFrames], pair*bandlimit.TopFrames)
		w.lows[pair] = within
		if float64(lowTakes*top) > w.ceiling*(Linear(lowOver)-1) {
			w.lows[pair] = may
		}
	}
	return w.lows[pair] == may
}

// strike appends a pulse to those that are to be taken off.
func (w *wholeBand) strike(at, height float64) {
	w.pulses = append(w.pulses, bandlimit.Pulse{At: at, Height: height})
	w.struck.add(at, math.Abs(height))
	frame := int(at / 2)
	for t := (frame - wholeEdge) / tile; t <= (frame+wholeEdge)/tile; t++ {
		w.news[0][t], w.news[1][t] = true, true
	}
}
