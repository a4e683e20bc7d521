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

// holdHop takes the peaks of the first hop down.
func (w *wholeBand) holdHop() {
	stretch := w.raw[w.at:][:wholeFrames]
	part := stretch[hop/2-wholeFinal : hop/2+hop+wholeFinal]
	w.work = 0
	for range wholeRounds {
		w.read.Load(stretch)
		w.read.LoadLow()
		for k := range w.news {
			for t := range w.news[k] {
				w.news[k][t] = true
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
		w.read.Frames(part, hop/2-wholeFinal)
		// What pulses do beyond the track's ends is lost, so that peaks there come back; elsewhere the reading is still right.
		if trimmed := w.trim(part, w.at+hop/2-wholeFinal); !trimmed || w.work > wholeWork {
			return
		}
	}
}

// lower takes peaks down in passes, and reports whether there was one. Those of what the low-pass filter leaves
// may be a little higher. In a stretch just read a peak has to pass the ceiling itself: one that the holder has left right below it
// stays as it is, or pulses at the end of a hop raise others in the next that is not looked at.
func (w *wholeBand) lower(low, fresh bool) bool {
	news, aim, over := &w.news[0], w.ceiling*Linear(-wholeAim), w.ceiling*Linear(-wholeOver)
	if low {
		news, aim, over = &w.news[1], w.ceiling*Linear(lowAim), w.ceiling*Linear(lowOver)
	}
	for pass := range wholePasses {
		level := over
		if fresh && pass == 0 {
			level = w.ceiling
		}
		w.work++
		w.peaks = w.peaks[:0]
		for t := (hop/2 - wholeAgain) / tile; t < (hop/2+hop)/tile+1; t++ {
			if news[t] {
				news[t] = false
				w.peaks = w.read.Peaks(w.peaks, t, level, low)
			}
		}
		if len(w.peaks) == 0 {
			return pass > 0
		}
		w.pulses = w.pulses[:0]
		for i := range w.peaks {
			p := bandlimit.Pulse{At: w.peaks[i].At, Height: w.cut(i, aim, 1)}
			w.pulses = append(w.pulses, p)
			frame := int(p.At / 2)
			for t := (frame - wholeEdge) / tile; t <= (frame+wholeEdge)/tile; t++ {
				w.news[0][t], w.news[1][t] = true, true
			}
		}
		w.read.Subtract(w.pulses, true)
	}
	return true
}

// cut is what peak i is to lose: as much as it is over, less where the others lower it as well, and more where they raise it, down to
// the least that they count for.
func (w *wholeBand) cut(i int, aim, least float64) float64 {
	mine := w.peaks[i]
	over := beyond(mine, aim)
	sum := over
	for k := i - 1; k >= 0 && mine.At-w.peaks[k].At < bandlimit.Near; k-- {
		sum += float64(beyond(w.peaks[k], aim) * w.shape.At(math.Abs(mine.At-w.peaks[k].At)))
	}
	for k := i + 1; k < len(w.peaks) && w.peaks[k].At-mine.At < bandlimit.Near; k++ {
		sum += float64(beyond(w.peaks[k], aim) * w.shape.At(math.Abs(w.peaks[k].At-mine.At)))
	}
	if sum/over > least {
		return over * (over / sum)
	}
	return over / least
}

// beyond is how far a peak is beyond an aim, with its sign.
func beyond(p bandlimit.Top, aim float64) float64 { return p.Height - math.Copysign(aim, p.Height) }
