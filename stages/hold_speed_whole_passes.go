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
	// wholeAhead is how many frames of the next hop are held with a hop, so that its last peaks come down as
	// they would in its middle. The pulses there fade out within wholeFade; the next hop takes off what they
	// leave. If none of them stayed, 6932.3 Hz 4.9 dB over would have 85 dB instead of 100.
	wholeAhead = tile
	wholeFade  = tile / 2
	// wholeEdge is how many frames to either side of a pulse peaks are to be sought again: the 36 that it
	// changes, and some more by which peaks next to those are found.
	wholeEdge = 48

	firstTile = hop / 2 / tile // of a stretch, the first tile of its hop
	hopEnd    = firstTile + hopTiles
	heldTo    = hopEnd + wholeAhead/tile
	seamFrom  = hopEnd*tile - wholeEdge // of a stretch, the first frame that pulses after its hop may change
	readReach = 3 * tile                // frames to either side that a reading depends on
)

// holdHop takes the peaks of the first hop down, of all linked channels. What is ahead is then put back, and
// loses the pulses of the hop once more, faded out.
func (w *wholeBand) holdHop() {
	for _, o := range w.linked {
		o.seam = append(o.seam[:0], o.ahead()...)
		o.last = o.last[:0]
	}
	w.lowerAll()
	for _, o := range w.linked {
		x := o.ahead()
		copy(x, o.seam)
		for _, p := range o.last {
			p.Height *= bandlimit.Rise(1 - float64((float64(p.At/2)-hopEnd*tile)/wholeFade))
			p.At -= 2 * seamFrom
			bandlimit.TakeOff(x, p)
		}
		o.trim(x, o.at+seamFrom)
	}
}

// ahead is what pulses after the first hop may change, in the stretch from frame seamFrom on.
func (w *wholeBand) ahead() []float64 { return w.raw[w.at:][seamFrom : heldTo*tile+wholeEdge] }

// lowerAll takes the peaks of the first hop down, and those of the next that are ahead.
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
// them that have been changed.
func (w *wholeBand) open() {
	x := w.raw[w.at:][:wholeFrames]
	if first := w.start + int64(w.at); w.exact[0] || first < 0 || first+wholeFrames > w.end {
		w.read.OpenWhole(x)
	} else {
		w.read.Open(x)
	}
	const around = 3
	var cells [2][heldTo - firstTile + 2*around]float64
	kernel.Scan(x[(firstTile-around)*tile-2:], cells[0][:], cells[1][:])
	aim := float64(w.ceiling*Linear(-wholeAim)) - float64(bandlimit.TileRest*w.ceiling)
	clear(w.news[0][:])
	for t := firstTile; t < heldTo; t++ {
		most := slices.Max(cells[0][t-firstTile+around-1:][:3])
		bend := slices.Max(cells[1][t-firstTile:][:2*around+1])
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
			o.keepLast()
		}
	}
	return true
}

// keepLast keeps the pulses that change what is ahead.
func (w *wholeBand) keepLast() {
	for _, p := range w.pulses {
		if p.At >= 2*(seamFrom-wholeEdge) {
			w.last = append(w.last, p)
		}
	}
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
	for t := firstTile; t < heldTo; t++ {
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
