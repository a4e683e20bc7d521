package stages

import "ledgerline/stages/bandlimit"

const (
	// wholePasses is how many passes at the peaks of one reading follow each other. A pass leaves a quarter of
	// what the peaks of a tone near half the rate are over, and less on programme.
	wholePasses = 12
	// wholeRounds is how often a stretch is read again after its peaks have been taken down, and wholeWork how
	// many passes it may take in all. Noise takes 20 to 30.
	wholeRounds = 12
	wholeWork   = 150
	// What pulses do near the end of a hop is looked at again in the next, wholeAgain frames back. It is final
	// wholeFinal frames back.
	wholeAgain = 2 * tile
	wholeFinal = 4 * tile
	// wholeEdge is how many frames a pulse may change to either side, with some to spare for its neighbours.
	wholeEdge = 72
)

// holdHop takes the peaks of the first hop down, of all linked channels.
func (w *wholeBand) holdHop() {
	w.work = 0
	for range wholeRounds {
		for _, o := range w.linked {
			o.read.Load(o.raw[o.at:][:wholeFrames])
			o.read.LoadLow()
			for k := range o.news {
				for t := range o.news[k] {
					o.news[k][t] = true
				}
			}
		}
		acted := false
		for n := range wholeRounds {
			a := w.lower(false, n == 0)
			b := w.lower(true, false)
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
			part := o.part()
			o.read.Frames(part, hop/2-wholeFinal)
			// What pulses do beyond the track's ends is lost, so that peaks there come back. Elsewhere the reading is
			// still right.
			trimmed = o.trim(part, o.at+hop/2-wholeFinal) || trimmed
		}
		if !trimmed || w.work > wholeWork {
			return
		}
	}
}

// part is what may be changed when the first hop is held.
func (w *wholeBand) part() []float64 {
	return w.raw[w.at:][hop/2-wholeFinal : hop/2+hop+wholeFinal]
}

// lower takes peaks down in passes, of the stretch or of what a converter of rates leaves of it, and reports
// whether there was one. In a stretch just read a peak has to pass the ceiling itself. One that the holder
// has left right below it stays as it is, or pulses at the end of a hop raise others in the next that is not
// looked at.
func (w *wholeBand) lower(low, fresh bool) bool {
	aim, over := w.ceiling*Linear(-wholeAim), w.ceiling*Linear(-wholeOver)
	if low {
		aim, over = w.ceiling*Linear(lowAim), w.ceiling*Linear(lowOver)
	}
	for pass := range wholePasses {
		level := over
		if fresh && pass == 0 {
			level = w.ceiling
		}
		w.work++
		found := false
		for _, o := range w.linked {
			found = o.find(low, level) || found
		}
		if !found {
			return pass > 0
		}
		w.cutAll(aim, 1, func(of *wholeBand, at float64) float64 { return of.read.Value(at, low) })
		for _, o := range w.linked {
			o.read.Subtract(o.pulses, true)
		}
	}
	return true
}

// find finds the peaks that pass a level where something may have changed, and reports whether there is one.
func (w *wholeBand) find(low bool, level float64) bool {
	news := &w.news[0]
	if low {
		news = &w.news[1]
	}
	w.peaks = w.peaks[:0]
	for t := (hop/2 - wholeAgain) / tile; t < (hop/2+hop)/tile+1; t++ {
		if news[t] {
			news[t] = false
			w.peaks = w.read.Peaks(w.peaks, t, level, low)
		}
	}
	return len(w.peaks) > 0
}

// strike appends a pulse to those that are to be taken off.
func (w *wholeBand) strike(at, height float64) {
	w.pulses = append(w.pulses, bandlimit.Pulse{At: at, Height: height})
	frame := int(at / 2)
	for t := (frame - wholeEdge) / tile; t <= (frame+wholeEdge)/tile; t++ {
		w.news[0][t], w.news[1][t] = true, true
	}
}
