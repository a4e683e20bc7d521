package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// A pass takes the peaks of the tiles down to an aim.
type pass struct {
	aim   float64
	depth float64 // how far below the ceiling a peak comes down, of the pulses taken off near it, but not below the aim
	fine  bool    // it looks at four times the track's rate, where no peak hides between two values, not twice
	peaks []peak  // in their order in time: those of the two tiles before the one in work, then its own
	// Of linked channels, what of the pulse of each peak each of them loses, in turn.
	shares []float64
	taken  int // how many of them are of the first tile, whose pulses have been taken off
	shape  *bandlimit.Shape
}

// How far a peak may rise above the values around it, see kernel.Peaks.
const (
	coarseGive = 1.0 / 2
	fineGive   = 1.0 / 8
)

// findTrue takes the true peaks of a tile down to the aim of a pass. What is found is taken off only
// when the peaks of the next tile are known: each is to be found on what the pass has not
// changed yet, wherever the tiles end.
func (h *holder) findTrue(p *pass, t int) {
	before := len(p.peaks)
	if h.news(p, t) {
		h.seek(p, t)
	}
	for k := before; k < len(p.peaks); k++ {
		p.meet(k)
	}
	for k := p.taken; k < before; k++ {
		p.settle(k)
	}
	h.takeOff(p.peaks[p.taken:before], !p.fine)
	p.forget(p.taken)
	p.taken = before - p.taken
}

// seek finds the peaks of a tile that may pass the aim. One at the last value of the tile
// before it belongs to the tile, and one at its own last value to the next.
func (h *holder) seek(p *pass, t int) {
	h.sees(p, t)
	twice := h.in.At(2)
	if low := calm(2) * p.aim; !twice.MayPass(t, low) && !twice.MayPass(t-1, low) {
		return
	}
	for k := t - 1; k <= t+1; k++ {
		twice.Fill(k)
	}
	var mask [4 * tile / 64]uint64
	if !p.fine { // A peak at one of the values at four times the rate is at one of these or next to it.
		const n = 2*tile + 2*kernel.Group
		kernel.Peaks(twice.Values(), 2*tile*t-kernel.Group, n, p.aim, coarseGive, mask[:(n+63)/64])
		if mask == [len(mask)]uint64{} {
			return
		}
	}
	const step = 0.5
	u, at := h.fourfold.Fill(twice, t)
	kernel.Peaks(u, at-1, 4*tile, p.aim, fineGive, mask[:])
	for w, set := range mask {
		for ; set != 0; set &= set - 1 {
			i := 64*w + bits.TrailingZeros64(set) - 1
			place := float64(2*tile*t) + float64(step*float64(i))
			top := twice.Summit(place, step, (*[3]float64)(u[at+i-1:]))
			if !(math.Abs(top.Height) > p.aim) {
				continue
			}
			h.hidden(p, t, top.At-hiddenFrom)
			h.meets(p, t, top)
			h.hidden(p, t, top.At+hiddenFrom)
		}
	}
}

// hiddenFrom is how far from a peak, in values at twice the rate, a climb to a hidden one starts: beyond any that is closer
// than two values at four times the rate.
const hiddenFrom = 1.05

// hidden looks for a peak near a place beside another. Of two humps closer than two values at four times the rate those show one or both,
// as the grid lies (6310.0 Hz, 2.5 dB over: SNR 79 dB). What is one hump after all is not added again.
func (h *holder) hidden(p *pass, t int, place float64) {
	if top, ok := h.in.At(2).Near(place); ok {
		h.meets(p, t, top)
	}
}

// meets adds a peak to those of a tile that a pass takes down, if it is higher than it is to be.
func (h *holder) meets(p *pass, t int, top bandlimit.Top) {
	high := math.Abs(top.Height)
	if !(high > p.aim) {
		return
	}
	level := h.level(p, h.struck.near(top.At))
	if high > level {
		if !p.has(top) && p.add(top.At, h.in.At(2).Middle(top, level), level) && h.link != nil {
			h.link.lead(h, p)
		}
		high = math.Inf(1) // its pulse may leave some of it
	}
	h.levels[t] = max(h.levels[t], high)
}

// level is what a pass takes a peak down to: the ceiling where no pulses have been taken off, and the lower the
// higher those near it were. It may not jump between peaks with and without a pulse near by, or a tone's periods differ by which of them has one.
func (h *holder) level(p *pass, near float64) float64 {
	if !p.fine {
		return h.ceiling
	}
	return max(p.aim, h.ceiling-float64(p.depth*near))
}

// takeOff takes off the signal what is to be cut off the peaks of a tile, and notes the pulses if they count for level: those of
// the first pass. If all did, each pass would lower the flat top of a low tone further towards its middle, and never be done (40 Hz,
// 4 dB over: SNR 106 dB, and 20 samples are left for the clamp). Within its main lobe a pulse only
// lowers the peak that it is on: it can raise what lies beside that.
func (h *holder) takeOff(peaks []peak, note bool) {
	h.pulses = h.pulses[:0]
	for i := range peaks {
		if p := &peaks[i]; p.cut != 0 {
			h.strike(p.at, p.cut, note)
		}
	}
	h.subtract()
}

// strike appends a pulse to those that are to be taken off, and notes it if it counts for level.
func (h *holder) strike(at, height float64, note bool) {
	h.pulses = append(h.pulses, bandlimit.Pulse{At: at, Height: height})
	if note {
		h.struck.add(at, math.Abs(height))
	}
}

// subtract takes the pulses off.
func (h *holder) subtract() {
	if len(h.pulses) == 0 {
		return
	}
	first, last, trimmed := h.in.Subtract(h.pulses)
	for t := first; t <= last; t++ {
		for _, p := range h.pulses {
			by := 1.0
			if !trimmed {
				by = bandlimit.Skirt(beside(float64(p.At/2), t))
			}
			h.risen[t] += float64(by * math.Abs(p.Height))
		}
	}
}

// beside is how many frames a tile is away from one.
func beside(frame float64, t int) float64 {
	return max(float64(t*tile)-frame, frame-float64((t+1)*tile), 0)
}

// findSample takes the sample peaks of a tile down to the aim of a pass.
func (h *holder) findSample(p *pass, t int) {
	h.sees(p, t)
	x := h.in.Signal()
	for n := t*tile - 1; n < (t+1)*tile-1; n++ {
		sign := 1.0
		if x[n] < 0 {
			sign = -1
		}
		if over := float64(sign*x[n]) - p.aim; over > 0 && sign*x[n] >= sign*x[n-1] && sign*x[n] > sign*x[n+1] {
			first, last, _ := h.in.SubtractAt(n, sign*over)
			for k := first; k <= last; k++ {
				h.risen[k] += over
			}
		}
	}
}
