package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

const (
	wholeFrames = bandlimit.WholeFrames
	hop         = wholeFrames / 2 // of a stretch the middle half is read
	hopTiles    = hop / tile

	// A pass leaves a quarter of what peaks are over of a tone near half the rate, and less of programme.
	wholePasses = 6
	wholeRounds = 3
	// What pulses do near the end of one stretch is looked at again in the next, so far back, and final further back.
	wholeAgain = tile
	wholeFinal = 2 * tile
	wholeAim   = 0.002 // dB below the ceiling
	// topFade is how many frames it takes to take away what lies near half the rate, and to let it through again.
	topFade = 1024
)

// A wholeBand keeps what a holder hands on within the ceiling right up to half the rate.
//
// The holder's filters pass 20.9/44.1 of the rate. What lies beyond, as after a clip at the track's rate, they do not
// see in full. Here a stretch that has something there is read by the Fourier transform, which sees all, and its peaks lose
// the same pulses. What is within 2.5 % of half the rate is taken away first: no meter reads that as another
// does. Then the same is done with what a converter of rates would leave of the stretch.
//
// Stretches are counted from the track's first frame, and half of each is its own. In a pass all peaks are found
// before any is taken down, and each loses what its neighbours' pulses do not take off it.
type wholeBand struct {
	hold    worker
	ceiling float64 // that is aimed at
	aim     float64 // of what is taken down
	over    float64 // the stage's own ceiling, beyond which a sample counts as over
	effect  Effect

	read  *bandlimit.WholeBand
	top   bandlimit.TopBand
	shape *bandlimit.Shape

	// Four hops of what the holder has handed on, and the same with what is near half the rate taken away. Three
	// hops are in work: of the last but one is told whether it matters, the one before is cleaned, and the one before that is held.
	raw, clean []float64
	fill       int     // frames of raw that are there
	matters    [3]bool // of the three hops, the earliest first
	came       []float64
	first      int   // of came: what has not been handed on
	start      int64 // the frame of the track that raw begins with
	end        int64 // of the track; until that is known, the largest
	out        int64 // frames handed on

	fresh  []float64 // scratch
	peaks  []bandlimit.Top
	pulses []bandlimit.Pulse
}

// newWholeBand makes one that follows a holder, and does the clamping and the comparing for it.
func newWholeBand(hold *holder) *wholeBand {
	hold.open = true
	return &wholeBand{
		hold: hold, ceiling: hold.ceiling, aim: hold.ceiling * Linear(-wholeAim), over: hold.over, effect: Effect{Cut: 1},
		read: bandlimit.NewWholeBand(), shape: bandlimit.PulseShape(),
		raw: make([]float64, 4*hop), clean: make([]float64, 4*hop),
		fill: 2*hop + hop/2, start: -(2*hop + hop/2), end: math.MaxInt64,
	}
}

func (w *wholeBand) push(dst, x []float64) []float64 {
	w.take(x)
	w.fresh = w.hold.push(w.fresh[:0], x)
	return w.advance(dst, w.fresh)
}

func (w *wholeBand) flush(dst []float64) []float64 {
	w.fresh = w.hold.flush(w.fresh[:0])
	dst = w.advance(dst, w.fresh)
	w.end = w.start + int64(w.fill)
	for w.out < w.end {
		clear(w.raw[w.fill:])
		w.fill = len(w.raw)
		dst = w.step(dst)
	}
	return dst
}

// take keeps what comes in until it is compared with what goes out.
func (w *wholeBand) take(x []float64) {
	if w.first > len(w.came)/2 {
		w.came = w.came[:copy(w.came, w.came[w.first:])]
		w.first = 0
	}
	w.came = append(w.came, x...)
}

func (w *wholeBand) took() Effect { return w.effect }

// advance takes what follows, and appends what is finished.
func (w *wholeBand) advance(dst, y []float64) []float64 {
	for len(y) > 0 {
		n := copy(w.raw[w.fill:], y)
		w.fill += n
		y = y[n:]
		if w.fill == len(w.raw) {
			dst = w.step(dst)
		}
	}
	return dst
}

// step works at three hops, hands on what is final and makes room for another hop.
func (w *wholeBand) step(dst []float64) []float64 {
	w.matters[2] = w.mayPass()
	w.cleanHop()
	if w.matters[0] {
		w.holdHop()
	}
	dst = w.emit(dst)
	copy(w.matters[:], w.matters[1:])
	copy(w.raw, w.raw[hop:])
	copy(w.clean, w.clean[hop:])
	w.start += hop
	w.fill -= hop
	return dst
}

// mayPass reports whether a peak of the last of the three hops passes the ceiling.
func (w *wholeBand) mayPass() bool {
	const from = 2 * hop
	if !w.nearHalf(from + hop/2) {
		return false
	}
	w.read.Load(w.raw[from:][:wholeFrames])
	for t := range hopTiles {
		if w.peaks = w.read.Peaks(w.peaks[:0], hopTiles/2+t, w.ceiling, false); len(w.peaks) > 0 {
			return true
		}
	}
	return false
}

// nearHalf reports whether what there is near half the rate in a hop may make a difference to its peaks.
func (w *wholeBand) nearHalf(from int) bool {
	const (
		rise   = 1.4    // times the largest sample around: as high as the holder may have let the signal be
		spared = 0.0002 // of the ceiling: less than that much below it is what the holder leaves
	)
	for at := from; at < from+hop; at += tile {
		peak := min(rise*kernel.MaxAbs(w.raw[at-2:at+tile+2]), w.ceiling)
		if peak > w.ceiling/4 && peak+w.top.Most(w.raw, at) > w.ceiling*(1+spared) {
			return true
		}
	}
	return false
}

// cleanHop takes what is near half the rate off the second hop if it matters there.
func (w *wholeBand) cleanHop() {
	const from = hop
	mine := w.clean[from+hop/2:][:hop]
	copy(mine, w.raw[from+hop/2:])
	if !w.matters[1] {
		return
	}
	w.fresh = append(w.fresh[:0], w.raw[from:][:wholeFrames]...)
	w.read.Shaped(w.fresh, w.fresh, bandlimit.NearHalf())
	first := w.start+from+hop/2 <= 0
	for i := range mine {
		gain := 1.0
		if !w.matters[0] && !first {
			gain = bandlimit.Rise((float64(i) + 0.5) / topFade)
		}
		if !w.matters[2] {
			gain *= bandlimit.Rise((float64(hop-i) - 0.5) / topFade)
		}
		mine[i] -= float64(gain * w.fresh[hop/2+i])
	}
	w.trim(mine, from+hop/2)
}

// trim silences what lies outside of the track, of a part of clean that begins at an index.
func (w *wholeBand) trim(x []float64, at int) (trimmed bool) {
	first := w.start + int64(at)
	for i := range x {
		if n := first + int64(i); (n < 0 || n >= w.end) && x[i] != 0 {
			x[i], trimmed = 0, true
		}
	}
	return trimmed
}

// holdHop takes the peaks of the first hop down.
func (w *wholeBand) holdHop() {
	stretch := w.clean[:wholeFrames]
	part := stretch[hop/2-wholeFinal : hop/2+hop+wholeFinal]
	for range wholeRounds {
		w.read.Load(stretch)
		for range wholeRounds {
			w.lower(false)
			w.read.LoadLow()
			if !w.lower(true) {
				break
			}
		}
		w.lower(false)
		w.read.Frames(part, hop/2-wholeFinal)
		// What pulses do beyond the track's ends is lost, so that peaks there come back.
		if !w.trim(part, hop/2-wholeFinal) {
			return
		}
	}
}

// lower takes peaks down in passes, and reports whether there was one.
func (w *wholeBand) lower(low bool) bool {
	for pass := range wholePasses {
		w.peaks = w.peaks[:0]
		for t := (hop/2 - wholeAgain) / tile; t < (hop/2+hop)/tile; t++ {
			w.peaks = w.read.Peaks(w.peaks, t, w.aim, low)
		}
		if len(w.peaks) == 0 {
			return pass > 0
		}
		w.pulses = w.pulses[:0]
		for i := range w.peaks {
			w.pulses = append(w.pulses, bandlimit.Pulse{At: w.peaks[i].At, Height: w.cut(i)})
		}
		w.read.Subtract(w.pulses, low)
	}
	return true
}

// cut is what peak i is to lose: as much as it is over, less where the others lower it as well.
func (w *wholeBand) cut(i int) float64 {
	mine := w.peaks[i]
	over := w.beyond(mine)
	sum := over
	for k := i - 1; k >= 0 && mine.At-w.peaks[k].At < bandlimit.Near; k-- {
		sum += float64(w.beyond(w.peaks[k]) * w.shape.At(mine.At-w.peaks[k].At))
	}
	for k := i + 1; k < len(w.peaks) && w.peaks[k].At-mine.At < bandlimit.Near; k++ {
		sum += float64(w.beyond(w.peaks[k]) * w.shape.At(w.peaks[k].At-mine.At))
	}
	if sum/over > 1 {
		return over * (over / sum)
	}
	return over
}

// beyond is how far a peak is beyond the aim, with its sign.
func (w *wholeBand) beyond(p bandlimit.Top) float64 { return p.Height - math.Copysign(w.aim, p.Height) }

// emit hands on what is final.
func (w *wholeBand) emit(dst []float64) []float64 {
	to := min(w.start+hop/2+hop-wholeFinal, w.end)
	if to <= w.out {
		return dst
	}
	at := len(dst)
	dst = append(dst, w.clean[w.out-w.start:to-w.start]...)
	y := dst[at:]
	came := w.came[w.first:][:len(y)]
	for i := kernel.Within(y, w.ceiling); i < len(y); i++ {
		if v := min(max(y[i], -w.ceiling), w.ceiling); v != y[i] {
			y[i] = v
			w.effect.Clamped++
		}
	}
	w.effect.bookAll(came, y, w.over)
	w.first += len(y)
	w.out = to
	return dst
}
