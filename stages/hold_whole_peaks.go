package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

const (
	// A pass leaves a quarter of what peaks are over of a tone near half the rate, and less of programme.
	wholePasses = 12
	// wholeRounds is how often a stretch is read again after its peaks have been taken down, and wholeWork how many passes
	// it is worth in all. Noise takes 20 to 30.
	wholeRounds = 12
	wholeWork   = 150
	// What pulses do near the end of one stretch is looked at again in the next, so far back, and final further back.
	wholeAgain = 2 * tile
	wholeFinal = 4 * tile
	// A peak that passes the ceiling less wholeOver is taken down to the ceiling less wholeAim, in dB. Of what a converter leaves, see
	// lowOver and lowAim.
	wholeAim  = 0.003
	wholeOver = 0.0012
	wholeEdge = 72 // frames that a pulse may change, to either side, with some to spare for its neighbours
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
			// What pulses do beyond the track's ends is lost, so that peaks there come back; elsewhere the reading is still right.
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

// lower takes peaks down in passes, and reports whether there was one. Those of what the low-pass filter leaves
// may be a little higher. In a stretch just read a peak has to pass the ceiling itself: one that the holder has left right below it
// stays as it is, or pulses at the end of a hop raise others in the next that is not looked at.
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

// cutAll finds the pulses by which the peaks of all linked channels come down to an aim. A value is that of a channel at
// the place of a peak.
func (w *wholeBand) cutAll(aim, least float64, value func(of *wholeBand, at float64) float64) {
	for _, o := range w.linked {
		o.pulses, o.overs = o.pulses[:0], o.overs[:0]
		for _, p := range o.peaks {
			o.overs = append(o.overs, beyond(p, aim))
		}
		if len(w.linked) > 1 {
			o.weigh(value)
		}
	}
	for _, o := range w.linked {
		for i, p := range o.peaks {
			cut := o.cut(i, least)
			for c, other := range w.linked {
				height := cut
				if c != o.channel {
					height = float64(cut * o.shares[i*len(w.linked)+c])
				}
				if height != 0 {
					other.strike(p.At, height)
				}
			}
		}
	}
}

// strike appends a pulse to those that are to be taken off.
func (w *wholeBand) strike(at, height float64) {
	w.pulses = append(w.pulses, bandlimit.Pulse{At: at, Height: height})
	frame := int(at / 2)
	for t := (frame - wholeEdge) / tile; t <= (frame+wholeEdge)/tile; t++ {
		w.news[0][t], w.news[1][t] = true, true
	}
}

// cut is what peak i is to lose: as much as it is over, less where the others lower it as well, and more where they raise it, down to
// the least that they count for.
func (w *wholeBand) cut(i int, least float64) float64 {
	mine, over := w.peaks[i], w.overs[i]
	if over == 0 {
		return 0
	}
	sum := over
	for k := i - 1; k >= 0 && mine.At-w.peaks[k].At < bandlimit.Near; k-- {
		sum += float64(w.overs[k] * w.shape.At(math.Abs(mine.At-w.peaks[k].At)))
	}
	for k := i + 1; k < len(w.peaks) && w.peaks[k].At-mine.At < bandlimit.Near; k++ {
		sum += float64(w.overs[k] * w.shape.At(math.Abs(w.peaks[k].At-mine.At)))
	}
	own := over
	if len(w.linked) > 1 {
		near, here := w.fromOthers(i)
		sum, own = sum+near, own+here
	}
	if own *= least; sum/over < own/over {
		sum = own
	}
	return over * (over / sum)
}

// beyond is how far a peak is beyond an aim, with its sign.
func beyond(p bandlimit.Top, aim float64) float64 { return p.Height - math.Copysign(aim, p.Height) }
