package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

const (
	wholeFrames = bandlimit.WholeFrames
	hop         = wholeFrames / 2 // of a stretch the middle half is read
	hopTiles    = hop / tile
)

// A wholeBand keeps what a holder hands on within the ceiling right up to half the rate.
//
// The holder's filters pass 21/44.1 of the rate. They do not see in full what lies beyond, as after a clip
// at the track's rate. Here a stretch that has something there is read by longer filters, or by the Fourier
// transform where these do not see all, and its peaks lose the same pulses. What pulses cannot take down is
// taken away first: all that is within 2.5 % of half the rate, where every meter reads something else, and of
// a loud tone close below as much as it needs. The peaks of what a converter of rates would leave of the
// stretch are taken down too.
//
// Stretches are counted from the track's first frame. They overlap: only the middle half of each, a hop, is
// read. In a pass all peaks are found before any is taken down, and each loses what its neighbours' pulses do
// not take off it.
type wholeBand struct {
	holder  worker
	ceiling float64      // that is aimed at
	over    float64      // the stage's own, beyond which a sample counts as over
	samples bool         // nothing between the samples counts
	linked  []*wholeBand // the channels that are held together, this one among them
	channel int          // which of them it is
	effect  tally

	// raw is what the holder has handed on. From at on up to four hops of it are in work: in a step the first is
	// held, the second loses what pulses cannot take down, and the third is judged. All of it happens in place.
	raw     []float64
	at      int
	start   int64            // the frame of the track that raw begins with
	tops    [3]topCut        // of the three hops, the earliest first
	touched [2]bool          // of the first two: they are to be held
	before  [hop / 2]float64 // the second half of the first, as it was
	seams
	exact [2]bool // of the first two: to be read by the transform, as filters see too little
	// unchanged are, of the first two, the tiles of a stretch from one to another that have not been changed.
	unchanged [2][2]int

	came  []float64
	first int   // of came: what has not been handed on
	end   int64 // of the track; until that is known, the largest
	out   int64 // frames handed on

	*wholeTools
}

// wholeTools are what a hop needs that is not simply handed on. The channels of a stage have them in turn,
// and they are made when the first needs them.
type wholeTools struct {
	read        *bandlimit.WholeBand
	shape       *bandlimit.Shape
	near, upper []float64 // what is near half the rate, or above bandlimit.High
	work        int       // passes at the stretch in hand
	peaks       []bandlimit.Found
	struck      struck    // the pulses taken off the stretch in hand
	overs       []float64 // how far each of the peaks is beyond what it is to come down to, with its sign
	shares      []float64 // of linked channels, what of the pulse of each peak each of them loses, in turn
	pulses      []bandlimit.Pulse
	news        [2][2 * hopTiles]bool // tiles that pulses have changed since their peaks were last sought
	// lows are what mayLow knows, of two tiles at a time.
	lows [2 * hopTiles * tile / bandlimit.TopFrames]int8

	// While a hop is judged:
	cells  [2][wholeCells]float64 // largest magnitudes and second differences around it
	unsure [2 * hopTiles]bool     // its tiles in which the whole stretch may show another peak
	pair   int                    // the two tiles that top has been found of
	top    float64
	tall   []bandlimit.Top // peaks of a tile
}

func (t *wholeTools) ready() {
	if t.read != nil {
		return
	}
	t.read, t.shape = bandlimit.NewWholeBand(), bandlimit.PulseShape()
	t.near, t.upper = make([]float64, 0, wholeFrames), make([]float64, 0, wholeFrames)
	t.peaks, t.pulses = make([]bandlimit.Found, 0, hop), make([]bandlimit.Pulse, 0, hop)
	t.struck = newStruck(wholeFrames/tile, tile/2)
}

const (
	wholeHeld  = 8 * hop  // frames of raw: as much as is in work, and as much again, so that it seldom moves
	wholeCame  = 10 * hop // and of what came in, which waits for the holder as well
	wholeBlock = hop / 2  // frames taken at a time
	// wholeLead is how far the work starts before the track.
	wholeLead = 2*hop + hop/2
)

// newWholeBand makes one that follows a holder, and does the clamping and the comparing for it.
func newWholeBand(hold *holder, tools *wholeTools, samples bool) *wholeBand {
	hold.open = true
	w := &wholeBand{
		holder: hold, ceiling: hold.ceiling, over: hold.over, samples: samples,
		raw: make([]float64, wholeLead, wholeHeld), came: make([]float64, 0, wholeCame),
		start: -wholeLead, end: math.MaxInt64, wholeTools: tools,
	}
	w.linked = []*wholeBand{w}
	return w
}

func (w *wholeBand) push(dst, x []float64) []float64 {
	for len(x) > 0 {
		n := min(len(x), wholeBlock)
		w.take(x[:n])
		w.makeRoom(2 * wholeBlock) // the holder hands on by tiles
		w.raw = w.holder.push(w.raw, x[:n])
		dst = w.advance(dst)
		x = x[n:]
	}
	return dst
}

func (w *wholeBand) flush(dst []float64) []float64 {
	w.makeRoom(holdLag*tile + wholeBlock)
	w.raw = w.holder.flush(w.raw)
	dst = w.advance(dst)
	w.end = w.start + int64(len(w.raw))
	for w.out < w.end {
		w.lengthen()
		dst = w.step(dst)
	}
	return dst
}

// lengthen has silence follow the track as far as a step needs it.
func (w *wholeBand) lengthen() {
	w.makeRoom(4 * hop)
	have := len(w.raw)
	w.raw = w.raw[:w.at+4*hop]
	clear(w.raw[min(have, len(w.raw)):])
}

// makeRoom forgets what is done, unless there is room for so many frames after raw.
func (w *wholeBand) makeRoom(frames int) {
	if cap(w.raw)-len(w.raw) >= frames {
		return
	}
	w.raw = w.raw[:copy(w.raw, w.raw[w.at:])]
	w.start += int64(w.at)
	w.at = 0
}

// take keeps what comes in until it is compared with what goes out.
func (w *wholeBand) take(x []float64) {
	if len(w.came)+len(x) > cap(w.came) {
		w.came = w.came[:copy(w.came, w.came[w.first:])]
		w.first = 0
	}
	w.came = append(w.came, x...)
}

func (w *wholeBand) took() Effect { return w.effect.total() }

func (w *wholeBand) tookOn(track int) Effect { return w.effect.on(track) }

// advance works as far as there is something to work at, and appends what is finished.
func (w *wholeBand) advance(dst []float64) []float64 {
	for w.hasStep() {
		dst = w.step(dst)
	}
	return dst
}

// hasStep reports whether there is enough for a step.
func (w *wholeBand) hasStep() bool { return len(w.raw) >= w.at+4*hop }

// step works at three hops, hands on what is final and goes on by a hop.
func (w *wholeBand) step(dst []float64) []float64 {
	w.tops[2] = w.judgeNext()
	w.restore(w.tops[2])
	w.touched[1] = w.cleanHop(w.at + hop)
	if w.touched[0] {
		w.hold()
	}
	dst = w.emit(dst)
	w.goOn()
	return dst
}

func (w *wholeBand) judgeNext() topCut { return w.judge(w.raw[w.at+2*hop:][:wholeFrames]) }

// hold holds the first hop, of all linked channels.
func (w *wholeBand) hold() {
	if w.samples {
		w.holdSamples()
	} else {
		w.holdHop()
	}
}

// goOn goes on by a hop.
func (w *wholeBand) goOn() {
	copy(w.tops[:], w.tops[1:])
	if w.joins = w.touched[0]; !w.joins {
		w.left = w.left[:0]
	}
	w.touched[0], w.exact[0], w.unchanged[0] = w.touched[1], w.exact[1], w.unchanged[1]
	w.at += hop
}

// emit hands on what is final.
func (w *wholeBand) emit(dst []float64) []float64 {
	to := min(w.start+int64(w.at)+hop/2+hop-wholeFinal, w.end)
	if to <= w.out {
		return dst
	}
	at := len(dst)
	dst = append(dst, w.raw[w.out-w.start:to-w.start]...)
	y := dst[at:]
	came := w.came[w.first:][:len(y)]
	w.effect.clamp(came, y, w.ceiling, w.over)
	w.first += len(y)
	w.out = to
	return dst
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
