package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/portable"
)

const (
	holdFactor = 4
	holdPasses = 8
	// clipDelay is how many tiles behind the newest what was clipped is final and taken off, and
	// passDelay how many behind that the first pass works: the tiles it looks at depend on three
	// tiles behind its own.
	clipDelay = 2 + runReach + backReach
	passDelay = 3
	// A pass works this many tiles behind the one before it: that takes its pulses off a
	// tile later, they reach one tile back from the tile they are in, and a pass looks at the next tile.
	passLag = 3
	holdLag = clipDelay + passDelay + holdPasses*passLag
)

// holdAim is the level, dB below the ceiling, beyond which a pass takes a peak down. The
// first leaves a track alone that keeps the level aimed at. Those after it look only where something
// may have risen, and aim lower, by what another interpolator may make of the band's
// edge; less so each time, so that what has settled is left alone.
func holdAim(pass int) float64 {
	if pass == 0 {
		return 0
	}
	return 0.002 + float64(0.006*portable.Whole(0.4, pass-1))
}

// holdDepth is how far below the ceiling a pass takes a peak, as a part of the first pass's pulses near it, but not below the aim: less in
// each pass than in the one before it, so that what has settled is left alone. With 0: 93 dB at 6752 Hz, 4 dB over, instead of 106.
func holdDepth(pass int) float64 { return 0.1 * portable.Whole(0.4, max(pass-1, 0)) }

// A holder keeps one channel within a ceiling.
//
// Broad runs beyond it are clipped first, as oversampled_clip does, which leaves of them the ripple
// of the band limit. Then each peak that is over loses a band-limited pulse as high as it
// is over, its own peak where the signal's is, between the samples. Of all band-limited
// signals that take that much off at that moment a sinc is the one of least energy, and the
// pulse is a short one. Pulses overlap: a peak that its neighbours' pulses lower as well is cut by less. That
// reckons with where the peaks were, and a pulse moves those near by a little and makes
// others, so that it takes some passes. They follow each other at a fixed distance through the track.
//
// This is the iteration of repeated clipping and filtering (Armstrong, Electron. Lett. 38(5), 2002)
// with each peak's step scaled to its need (after Wang and Tellambura, IEEE SPL 12(6), 2005).
// It converges in a few passes, because pulses a sample and more apart hardly
// overlap, and it depends on the signal only and not on where the samples lie, so that it adds
// no aliasing.
type holder struct {
	stream
	ceiling float64 // that is aimed at
	over    float64 // the stage's own, beyond which a sample counts as over
	open    bool    // a wholeBand follows, which clamps and compares
	find    func(h *holder, p *pass, tile int)
	passes  [holdPasses]pass
	broad   *excess
	heights *bandlimit.Rate // of broad runs
	hot     []bool          // tiles with a part of a broad run

	// Of each tile: what nothing in it passed when a pass last looked at it, infinite while none has closely, and how
	// far what is in it may have risen since by the pulses taken off.
	levels, risen []float64
	struck        struck

	pulses   []bandlimit.Pulse  // scratch: those to be taken off
	fourfold bandlimit.Fourfold // scratch

	link    *holdLink // nil: the channel is held by itself
	channel int

	came   []float64 // what came in and has not been handed on, from first on
	first  int
	effect tally
}

// newHolder makes a holder whose passes and whose last clamp aim lower than the ceiling by so many dB.
func newHolder(ceiling, lowerDB float64, samples bool, stretch int) *holder {
	over := ceiling
	ceiling *= Linear(-lowerDB)
	in := bandlimit.NewInterpolator(holdFactor, bandlimit.Steep, stretch)
	h := &holder{ceiling: ceiling, over: over, find: (*holder).findTrue}
	for p := range h.passes {
		h.passes[p] = pass{aim: ceiling * Linear(-holdAim(p)), depth: holdDepth(p), fine: p > 0, shape: bandlimit.PulseShape()}
	}
	n := (in.Frames() + in.Room()) / tile
	h.levels, h.risen, h.struck = make([]float64, n), make([]float64, n), newStruck(n)
	h.heights = in.At(2)
	if samples {
		h.find, h.heights = (*holder).findSample, in.At(1)
	}
	h.hot = make([]bool, n)
	h.broad = newExcess(in, ceiling, holdFactor, &run{heights: h.heights})
	h.start(in, h, holdLag)
	return h
}

func (h *holder) push(dst, x []float64) []float64 {
	if h.open {
		return h.stream.push(dst, x)
	}
	if h.first > len(h.came)/2 {
		h.came = h.came[:copy(h.came, h.came[h.first:])]
		h.first = 0
	}
	h.came = append(h.came, x...)
	return h.stream.push(dst, x)
}

func (h *holder) drop(tiles int) {
	h.broad.drop(tiles)
	shift(h.hot, tiles)
	shift(h.levels, tiles)
	shift(h.risen, tiles)
	h.struck.drop(tiles)
	for p := range h.passes {
		h.passes[p].drop(tiles)
	}
}

func (h *holder) work(t int) {
	h.hot[t] = h.mayBeHigh(t) || h.filledBeyond(t)
	if h.hot[t-2] || h.hot[t-1] || h.hot[t] {
		h.broad.seek(t - 1)
	} else {
		h.broad.pass()
	}
	h.takeRuns(t)
	t -= clipDelay + passDelay
	for i := range h.passes {
		if p := &h.passes[i]; len(p.peaks) > 0 || h.news(p, t) {
			h.find(h, p, t)
		}
		t -= passLag
	}
}

// takeRuns takes off what has been booked of broad runs.
func (h *holder) takeRuns(t int) {
	h.broad.decimate(t - 2 - runReach)
	h.broad.take(t-clipDelay, func(removed []float64) { h.in.Remove(t-clipDelay, removed) })
}

// mayBeHigh reports whether a peak in a tile is as high as makes a run broad.
func (h *holder) mayBeHigh(t int) bool {
	high := broadHeight * h.ceiling
	if h.heights.Factor() == 1 {
		return h.heights.MayPass(t, high)
	}
	if !h.heights.MayPass(t, calm(2)*high) {
		return false
	}
	n := 2 * tile
	h.heights.Fill(t - 1)
	h.heights.Fill(t + 1)
	return rises(h.heights, t*n, (t+1)*n, high)
}

// filledBeyond reports whether all of a half of a tile is beyond the ceiling, on one side, as
// is one at least in a run that is longer than a tile.
func (h *holder) filledBeyond(t int) bool {
	if !(h.in.At(1).Peak(t) > h.ceiling) {
		return false
	}
	x := h.in.Signal()[t*tile-broadLength : (t+1)*tile]
	n, last := 0, 0.0
	for _, v := range x {
		switch {
		case !(math.Abs(v) > h.ceiling):
			n = 0
			continue
		case n > 0 && math.Signbit(v) == math.Signbit(last):
			n++
		default:
			n = 1
		}
		last = v
		if n >= broadLength-1 {
			return true
		}
	}
	return false
}

// news reports whether a pass may find a peak in a tile. The first looks everywhere, the next one wherever that one has
// changed anything, those behind them where pulses may have raised something beyond the aim.
func (h *holder) news(p *pass, t int) bool {
	if !p.fine {
		return true
	}
	high := h.levels[t] + h.risen[t]
	return h.risen[t] > 0 && high > p.aim && high > h.level(p, h.struck.around(t))
}

// sees notes that a pass has looked at a tile.
func (h *holder) sees(p *pass, t int) {
	h.risen[t], h.levels[t] = 0, p.aim
	if !p.fine {
		h.levels[t] = math.Inf(1)
	}
}

// finish clamps what the passes have left over, and compares with what came in.
func (h *holder) finish(y []float64, _ int) {
	if h.open {
		return
	}
	came := h.came[h.first : h.first+len(y)]
	h.first += len(y)
	h.effect.clamp(came, y, h.ceiling, h.over)
}

func (h *holder) took() Effect { return h.effect.total() }

func (h *holder) tookOn(track int) Effect { return h.effect.on(track) }
