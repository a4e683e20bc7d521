package stages

import "ledgerline/stages/bandlimit"

// Where two hops meet, each is held a little beyond the border, so that its peaks there come down as they
// would in its middle: seamTiles to either side. So both find the same pulses near the border, but for what
// is different further away, and those of the one fade out there as those of the other fade in. Where hops
// were held one after the other up to their border, a tone with a harmonic near half the rate would alias
// there.
const (
	seamTiles  = 2
	seamFrames = seamTiles * tile // to either side of a border
	seamFade   = tile / 2         // frames, half of them before the border

	// A seam is restored from seamFar frames on its far side of the border to seamNear on its near one: as far
	// as pulses reach that do not stay there as they are.
	seamFar  = seamFrames + wholeEdge
	seamNear = tile

	hopFrom, hopTo = firstTile * tile, hopEnd * tile // the borders of the hop of a stretch
)

// seams are what one channel keeps of both borders of the first hop.
type seams struct {
	joins       bool              // the hop before has been held
	left        []bandlimit.Pulse // those of the hop before near its end, as they have been taken off
	bordering   []bandlimit.Pulse // those of the first hop near either border
	begin, next [seamFar + seamNear]float64
}

// zones are the frames of the stretch that are restored at the hop's beginning and at its end.
func (w *wholeBand) zones() (begin, next []float64) {
	x := w.raw[w.at:]
	return x[hopFrom-seamFar : hopFrom+seamNear], x[hopTo-seamNear : hopTo+seamFar]
}

// beginSeams keeps what is near the borders, and puts back what the hop before has taken off near its own
// border.
func (w *wholeBand) beginSeams() {
	begin, next := w.zones()
	copy(w.begin[:], begin)
	copy(w.next[:], next)
	w.bordering = w.bordering[:0]
	for _, p := range w.left {
		w.takeOffAt(begin, hopFrom-seamFar, p.At, -p.Height)
	}
}

// takeOffAt takes a pulse off a part of the stretch that begins at a frame of it.
func (w *wholeBand) takeOffAt(x []float64, from int, at, height float64) {
	bandlimit.TakeOff(x, bandlimit.Pulse{At: at - float64(2*from), Height: height})
	w.trim(x, w.at+from)
}

// noteSeam notes the pulses near the borders of those that have just been taken off.
func (w *wholeBand) noteSeam() {
	for _, p := range w.pulses {
		if frame := p.At / 2; frame < hopFrom+seamFrames || frame >= hopTo-seamFrames {
			w.bordering = append(w.bordering, p)
		}
	}
}

// joinSeams has the pulses near the borders fade in and out. Where hops find different ones, what is
// left over is too little to be sought again; see HOLD.md.
func (w *wholeBand) joinSeams() {
	begin, next := w.zones()
	copy(next, w.next[:])
	if w.joins {
		copy(begin, w.begin[:])
	}
	for i := range w.bordering {
		p := &w.bordering[i]
		if d := float64(p.At/2) - hopFrom; w.joins && d < seamFrames {
			p.Height *= bandlimit.Rise((d + seamFade/2) / seamFade)
			w.takeOffAt(begin, hopFrom-seamFar, p.At, p.Height)
		}
		if d := float64(p.At/2) - hopTo; d >= -seamFrames {
			p.Height *= bandlimit.Rise((seamFade/2 - d) / seamFade)
			w.takeOffAt(next, hopTo-seamNear, p.At, p.Height)
		}
	}
}

// keepSeam keeps the pulses near the end of the hop for the next.
func (w *wholeBand) keepSeam() {
	w.left = w.left[:0]
	for _, p := range w.bordering {
		if p.At >= 2*(hopTo-seamFrames) && p.Height != 0 {
			p.At -= 2 * hop
			w.left = append(w.left, p)
		}
	}
}
