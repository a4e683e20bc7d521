package stages

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/fourier"
)

// The steep filter of a change of rate, in terms of the lower of both rates. It passes 20 kHz of 44.1, and
// stops at half the lower rate, so that neither images nor aliases are left, not even above the pass band.
const (
	steepPass  = 20000.0 / 44100
	steepStop  = 0.5
	steepReach = 120 // frames to each side
	// The window's shape for 166 dB, by Kaiser's formula 0.1102 (dB - 8.7). The formula for the length then asks
	// for a reach of (166 - 7.95) / (2 * 14.36 * (stop - pass)) = 118.4 frames.
	steepShape = 0.1102 * (166 - 8.7)
	// steepFrames is how many frames at the lower rate are transformed at once, and steepHop how many of them
	// are kept.
	steepFrames = 1024
	steepHop    = steepFrames - 2*steepReach
)

// A steep is the filter between the lower rate and twice that, by overlapping transforms (T. G. Stockham,
// "High-speed convolution and correlation", AFIPS 28, 1966; from memory). The filter is symmetric about its
// middle, so its response is real: two blocks go through a transform together, one as the real part and one
// as the imaginary. Blocks are counted from the track's first frame.
type steep struct {
	low, high *fourier.Plan
	response  []float64
	re, im    []float64
	held      []float64 // frames that came in, from the first of the next two blocks
}

// newSteep begins after so many frames of silence. Its response is made smaller by a factor, as the
// transforms multiply.
func newSteep(silence, by int) *steep {
	s := &steep{low: fourier.NewPlan(steepFrames), high: fourier.NewPlan(2 * steepFrames)}
	s.re, s.im = make([]float64, 2*steepFrames), make([]float64, 2*steepFrames)
	s.held = make([]float64, silence)
	s.response = steepTaps()
	s.high.Forward(s.response, make([]float64, 2*steepFrames))
	for k := range s.response {
		s.response[k] /= float64(by)
	}
	return s
}

// steepTaps are the filter's, the middle one first and those before it at the end. Those for frames that come
// in, and those between, add up to 1 each.
func steepTaps() []float64 {
	taps, sums := make([]float64, 2*steepFrames), [2]float64{}
	for k := -2 * steepReach; k <= 2*steepReach; k++ {
		lobes := float64((steepPass + steepStop) * (float64(k) / 2))
		h := bandlimit.WindowedSinc(lobes, (steepPass+steepStop)*steepReach, steepShape)
		taps[(k+2*steepFrames)%(2*steepFrames)] = h
		sums[k&1] += h
	}
	for k := range taps {
		taps[k] /= sums[k&1]
	}
	return taps
}

// blocks calls do for each two blocks there are, of so many frames and one hop apart, and forgets what is
// spent.
func (s *steep) blocks(frames, hop int, do func()) {
	spent := 0
	for ; len(s.held)-spent >= hop+frames; spent += 2 * hop {
		copy(s.re, s.held[spent:spent+frames])
		copy(s.im, s.held[spent+hop:spent+hop+frames])
		do()
	}
	s.held = s.held[:copy(s.held, s.held[spent:])]
}

// doubling goes from the lower rate to twice that.
type doubling struct{ *steep }

// newDoubling begins so many frames before the track.
func newDoubling(early int) doubling { return doubling{newSteep(steepReach+early, 2*steepFrames)} }

func (d doubling) push(dst, x []float64) []float64 {
	d.held = append(d.held, x...)
	d.blocks(steepFrames, steepHop, func() {
		d.low.Forward(d.re[:steepFrames], d.im[:steepFrames])
		d.spread(d.re)
		d.spread(d.im)
		d.high.Inverse(d.re, d.im)
		dst = slices.Grow(dst, 4*steepHop)
		dst = append(dst, d.re[2*steepReach:][:2*steepHop]...)
		dst = append(dst, d.im[2*steepReach:][:2*steepHop]...)
	})
	return dst
}

// spread makes of the spectrum of a block that of the block with a zero after each frame, filtered: the same
// twice over.
func (d doubling) spread(x []float64) {
	low, high := x[:steepFrames], x[steepFrames:]
	for k, v := range low {
		high[k] = v * d.response[steepFrames+k]
		low[k] = v * d.response[k]
	}
}

// halving goes from twice the lower rate to it.
type halving struct{ *steep }

// newHalving begins after so many frames of silence. The first frame that comes in, or of that silence, is
// 2*steepReach before the track.
func newHalving(silence int) halving { return halving{newSteep(silence, 4*steepFrames)} }

func (h halving) push(dst, x []float64) []float64 {
	h.held = append(h.held, x...)
	h.blocks(2*steepFrames, 2*steepHop, func() {
		h.high.Forward(h.re, h.im)
		h.fold(h.re)
		h.fold(h.im)
		h.low.Inverse(h.re[:steepFrames], h.im[:steepFrames])
		dst = slices.Grow(dst, 2*steepHop)
		dst = append(dst, h.re[steepReach:][:steepHop]...)
		dst = append(dst, h.im[steepReach:][:steepHop]...)
	})
	return dst
}

// fold makes of the spectrum of a block that of every second frame of the block, filtered: the sum of both
// halves.
func (h halving) fold(x []float64) {
	low, high := x[:steepFrames], x[steepFrames:]
	for k, v := range high {
		low[k] = math.FMA(v, h.response[steepFrames+k], float64(low[k]*h.response[k]))
	}
}
