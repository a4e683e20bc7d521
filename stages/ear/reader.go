package ear

import (
	"fmt"
	"slices"
)

// Options say what a Reader is to read.
type Options struct {
	Rate       int     // frames a second, 1000 or more; beyond 200000 there is no reading
	Channels   int     // 1 or more
	LevelDBSPL float64 // playback level of a sine at full scale; 0 = LevelDBSPL
	// Comparisons are what is read: each one between two of the signals that are written. None is one of signal
	// 0 with signal 1.
	Comparisons []Comparison
	// EachWindow, unless nil, is called for each channel of each window of each comparison, in that order of
	// time.
	EachWindow func(Window)
}

// A Comparison is between two signals, numbered as Write is given them. The mask is always that of signal 0.
type Comparison struct {
	Before, After int
	// Waveform takes for the noise the spectrum of the difference, as is right for what does not belong to the
	// signal at all. Otherwise it is the difference of the magnitudes, as the Recommendation has it.
	Waveform bool
}

// A Window is what was found in one, whether it counts or not: at both ends of a signal those in which
// nothing is heard do not.
type Window struct {
	Comparison int
	Channel    int
	Frame      int64 // its first
	// mean over the bands of the ratio of the powers of noise and mask; 0 where the signals are equal
	Mean float64
	Most float64 // largest of these ratios
	Band int     // where that is

	// Powers in the bands: of signal 0, of its mask and of the noise. Valid during the call; the noise is nil
	// where the signals are equal.
	Programme, Mask, Noise []float64
}

// buffered is how many windows are kept room for.
const buffered = 6

// A Reader compares signals as they are written. It is not safe for use by several goroutines at once. Its
// memory does not grow: some windows and a spectrum for each signal and channel.
type Reader struct {
	o       Options
	model   *Model // nil beyond the highest rate
	signals [][]signal
	masks   []*Mask
	scores  [][]score // by comparison and channel
	moments []moments // by comparison

	fill   int   // frames that there are of the window
	window int64 // its number
	place  int   // of the window in the buffers
	begun  bool  // something was heard
	ended  bool

	analyser          *Analyser
	noise             *Noise
	threshold, powers []float64
	programme         []float64 // powers of signal 0 in a channel
}

// A signal is one channel of one of the signals.
type signal struct {
	buffer   []float64 // of some windows, in which the window moves on, so that little is copied
	x        []float64 // the window
	spectrum *Spectrum
	known    bool // the spectrum is that of this window
}

// NewReader is a reader that has heard nothing. It panics if there is no channel, or the rate, the level or
// the number of a signal is out of range.
func NewReader(o Options) *Reader {
	if o.LevelDBSPL == 0 {
		o.LevelDBSPL = LevelDBSPL
	}
	if o.Channels < 1 {
		panic("ear: no channels")
	}
	if len(o.Comparisons) == 0 {
		o.Comparisons = []Comparison{{Before: 0, After: 1}}
	}
	o.Comparisons = slices.Clone(o.Comparisons)
	r := &Reader{o: o}
	if WindowFrames(o.Rate) == 0 && o.Rate > 0 {
		return r
	}
	r.model = NewModel(o.Rate, 0, o.LevelDBSPL)
	r.analyser, r.noise = NewAnalyser(r.model), NewNoise(r.model)
	r.threshold, r.powers = make([]float64, r.model.Bands()), make([]float64, r.model.Bands())
	r.programme = make([]float64, r.model.Bands())
	r.signals = make([][]signal, signalsOf(o.Comparisons))
	for s := range r.signals {
		for range o.Channels {
			r.signals[s] = append(r.signals[s], newSignal(r.model))
		}
	}
	for range o.Channels {
		r.masks = append(r.masks, NewMask(r.model))
	}
	for range o.Comparisons {
		scores := make([]score, o.Channels)
		for c := range scores {
			scores[c] = newScore(r.model)
		}
		r.scores = append(r.scores, scores)
		r.moments = append(r.moments, newMoments(r.model))
	}
	return r
}

func newSignal(m *Model) signal {
	g := signal{buffer: make([]float64, buffered*m.window), spectrum: NewSpectrum(m)}
	g.x = g.buffer[:m.window]
	return g
}

// OnWindow sets the options' EachWindow.
func (r *Reader) OnWindow(each func(Window)) { r.o.EachWindow = each }

// After is the number of the signal that is the second of a comparison.
func (r *Reader) After(comparison int) int { return r.o.Comparisons[comparison].After }

// Bands is how many bands there are.
func (r *Reader) Bands() int { return r.model.Bands() }

// Band is the middle of band k in Hz, and its power of a sine of full scale there, see Model.FullScale.
func (r *Reader) Band(k int) (hz, fullScale float64) {
	return r.model.Band(k).Centre, r.model.FullScale(k)
}

// Candidates tells of all moments of a comparison that may still be among the worst; channels count from 0.
func (r *Reader) Candidates(comparison int, each func(frame int64, channel int)) {
	if r.model == nil {
		return
	}
	for _, overs := range [][]over{r.moments[comparison].sure, r.moments[comparison].unsure} {
		for _, o := range overs {
			each(o.frame, o.channel)
		}
	}
}

// signalsOf is how many signals there are.
func signalsOf(comparisons []Comparison) int {
	n := 1
	for _, c := range comparisons {
		if c.Before < 0 || c.After < 0 {
			panic(fmt.Sprintf("ear: no comparison of signals %d and %d", c.Before, c.After))
		}
		n = max(n, c.Before+1, c.After+1)
	}
	return n
}

// Write feeds the same frames of every signal, any number of them. Windows with samples that are not finite
// count as very loud. Nothing of the blocks is kept. It panics if there is another number of signals,
// channels or frames, or after End.
func (r *Reader) Write(signals ...[][]float64) {
	if r.model == nil {
		return
	}
	r.check(signals)
	frames := len(signals[0][0])
	for from := 0; from < frames; {
		to := min(frames, from+r.model.window-r.fill)
		for s, b := range signals {
			for c := range b {
				copy(r.signals[s][c].x[r.fill:], b[c][from:to])
			}
		}
		r.fill += to - from
		from = to
		if r.fill == r.model.window {
			r.hear()
			r.move()
		}
	}
}

func (r *Reader) check(signals [][][]float64) {
	if r.ended {
		panic("ear: frames after the end")
	}
	if len(signals) != len(r.signals) {
		panic(fmt.Sprintf("ear: %d signals for a reader of %d", len(signals), len(r.signals)))
	}
	for _, b := range signals {
		if len(b) != r.o.Channels {
			panic(fmt.Sprintf("ear: a block of %d channels, want %d", len(b), r.o.Channels))
		}
		for _, x := range b {
			if len(x) != len(signals[0][0]) {
				panic(fmt.Sprintf("ear: a channel of %d frames beside one of %d", len(x), len(signals[0][0])))
			}
		}
	}
}

// move goes on to the next window.
func (r *Reader) move() {
	r.fill -= r.model.hop
	r.window++
	r.place += r.model.hop
	end := r.place + r.model.window
	for s := range r.signals {
		for c := range r.signals[s] {
			g := &r.signals[s][c]
			if end > len(g.buffer) {
				copy(g.buffer, g.buffer[r.place:][:r.fill])
				g.x = g.buffer[:r.model.window]
			} else {
				g.x = g.buffer[r.place:end]
			}
		}
	}
	if end > buffered*r.model.window {
		r.place = 0
	}
}
