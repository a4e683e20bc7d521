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
)

// A wholeBand keeps what a holder hands on within the ceiling right up to half the rate.
//
// The holder's filters pass 20.9/44.1 of the rate. What lies beyond, as after a clip at the track's rate, they do not
// see in full. Here a stretch that has something there is read by the Fourier transform, which sees all, and its peaks lose
// the same pulses. What pulses cannot take down is taken away first: all that is within 2.5 % of half the rate, which
// no meter reads as another does, and of a loud tone close below as much as it needs. Then the same is done with
// what a converter of rates would leave of the stretch.
//
// Stretches are counted from the track's first frame, and half of each is its own. In a pass all peaks are found
// before any is taken down, and each loses what its neighbours' pulses do not take off it.
type wholeBand struct {
	hold    worker
	ceiling float64 // that is aimed at
	over    float64 // the stage's own, beyond which a sample counts as over
	effect  Effect

	read  *bandlimit.WholeBand
	shape *bandlimit.Shape

	// Four hops of what the holder has handed on, and the same with what pulses cannot take down taken away. Three
	// hops are in work: the last but one is judged, the one before is cleaned, and the one before that is held.
	raw, clean []float64
	fill       int       // frames of raw that are there
	tops       [3]topCut // of the three hops, the earliest first
	touched    [2]bool   // of the first two: they are to be held
	came       []float64
	first      int   // of came: what has not been handed on
	start      int64 // the frame of the track that raw begins with
	end        int64 // of the track; until that is known, the largest
	out        int64 // frames handed on

	fresh       []float64 // scratch: what the holder has just handed on
	near, upper []float64 // and what is near half the rate, or above bandlimit.High
	work        int       // passes at the stretch in hand
	peaks       []bandlimit.Top
	pulses      []bandlimit.Pulse
	news        [2][2 * hopTiles]bool // tiles of a stretch that pulses have changed since their peaks were sought
}

// newWholeBand makes one that follows a holder, and does the clamping and the comparing for it.
func newWholeBand(hold *holder) *wholeBand {
	hold.open = true
	return &wholeBand{
		hold: hold, ceiling: hold.ceiling, over: hold.over, effect: Effect{Cut: 1},
		read: bandlimit.NewWholeBand(), shape: bandlimit.PulseShape(),
		raw: make([]float64, 4*hop), clean: make([]float64, 4*hop), came: make([]float64, 0, 8*hop),
		fresh: make([]float64, 0, wholeFrames), near: make([]float64, 0, wholeFrames), upper: make([]float64, 0, wholeFrames),
		peaks: make([]bandlimit.Top, 0, hop), pulses: make([]bandlimit.Pulse, 0, hop),
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
	w.tops[2] = w.judge(2 * hop)
	w.touched[1] = w.cleanHop(hop)
	if w.touched[0] {
		w.holdHop()
	}
	dst = w.emit(dst)
	copy(w.tops[:], w.tops[1:])
	w.touched[0] = w.touched[1]
	copy(w.raw, w.raw[hop:])
	copy(w.clean, w.clean[hop:])
	w.start += hop
	w.fill -= hop
	return dst
}

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
