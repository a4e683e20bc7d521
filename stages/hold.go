package stages

import "ledgerline/stages/bandlimit"

// A holder keeps one channel within a ceiling.
//
// Broad runs beyond it are clipped first, as oversampled_clip does, which leaves of them the ripple of the
// band limit. Then passes follow each other at a fixed distance through the track. Each finds the peaks that
// are over, between the samples, and each of these loses a band-limited pulse as high as it is over. Of all
// band-limited signals that take that much off at that moment a sinc is the one of least energy, and the
// pulse is a short one. Pulses overlap: a peak that its neighbours' pulses lower as well is cut by less. That
// reckons with where the peaks were, and a pulse moves those near it by a little and makes others, so that it
// takes some passes.
//
// This is the iteration of repeated clipping and filtering (Armstrong, Electron. Lett. 38(5), 2002) with each
// peak's step scaled to its need (after Wang and Tellambura, IEEE SPL 12(6), 2005). It converges in a few
// passes, because pulses a sample and more apart hardly overlap, and it depends on the signal only and not on
// where the samples lie, so that it adds no aliasing. HOLD.md says which file has what.
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

	// No peak of tile t was higher than highest[t] when a pass last looked at it; infinite where a peak was cut.
	// Pulses taken off since then may have raised what is there by risen[t], and by no more.
	highest, risen []float64
	struck         struck

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
		h.passes[p] = pass{
			first: p == 0, aim: ceiling * Linear(-holdAim(p)), depth: holdDepth(p),
			deepest: ceiling * (1 - Linear(-deepest)), shape: bandlimit.PulseShape(),
		}
	}
	n := (in.Frames() + in.Room()) / tile
	// it hardly ever needs more
	h.highest, h.risen, h.struck = make([]float64, n), make([]float64, n), newStruck(n, 2*tile)
	h.heights = in.At(2)
	if samples {
		h.find, h.heights = (*holder).findSample, in.At(1)
	}
	h.hot = make([]bool, n)
	h.broad = newExcess(in, ceiling, holdFactor, &run{heights: h.heights, from: h.longFrom()})
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
	shift(h.highest, tiles)
	shift(h.risen, tiles)
	h.struck.drop(tiles)
	for p := range h.passes {
		h.passes[p].drop(tiles)
	}
}

func (h *holder) work(t int) {
	h.seekBroad(t)
	h.takeRuns(t)
	t -= clipDelay + passDelay
	for i := range h.passes {
		if p := &h.passes[i]; len(p.peaks) > 0 || h.news(p, t) {
			h.find(h, p, t)
		}
		t -= passLag
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
