package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// The first pass looks at twice the track's rate. Those behind it look at four times the rate,
// where no peak hides between two values, at what has changed since.

// A peak is one of a tile that may pass the aim.
type peak struct {
	at     float64 // in values at twice the track's rate
	height float64 // with its sign, as the cuts leave it
	cut    float64 // the height of the pulse that is to be taken off it
}

// sweeps is how often at most the peaks of a tile are gone through.
const sweeps = 4

// findTrue takes the true peaks of a tile down to the aim of a pass. A peak at
// the last value of the tile before it belongs to the tile, and one at its own last
// value to the next.
func findTrue(h *holder, pass, t int) {
	aim, rate, give := h.aims[pass], h.in.At(2), 0.5
	if pass > 0 {
		rate, give = h.in.At(holdFactor), 0.125
	}
	if low := calm(rate.Factor()) * aim; !rate.MayPass(t, low) && !rate.MayPass(t-1, low) {
		return
	}
	h.seek(rate, t, aim, give)
	h.settle(aim, min(aim, h.aims[min(pass+1, holdPasses-1)]))
	h.pulses = h.pulses[:0]
	for _, p := range h.peaks {
		if p.cut != 0 {
			h.pulses = append(h.pulses, bandlimit.Pulse{At: p.at, Height: p.cut})
		}
	}
	if len(h.pulses) > 0 {
		h.changes(h.in.Subtract(h.pulses))
	}
}

// seek finds the peaks of a tile that may pass the aim.
func (h *holder) seek(rate *bandlimit.Rate, t int, aim, give float64) {
	for k := t - 1; k <= t+1; k++ {
		rate.Fill(k)
	}
	n := tile * rate.Factor()
	from := t*n - 1
	var mask [tile * holdFactor / 64]uint64
	kernel.Peaks(rate.Values(), from, n, aim, give, mask[:n/64])
	h.peaks = h.peaks[:0]
	for w, set := range mask[:n/64] {
		for ; set != 0; set &= set - 1 {
			top := rate.Summit(from + 64*w + bits.TrailingZeros64(set))
			h.peaks = append(h.peaks, peak{float64(top.At) + top.Fraction, top.Height, 0})
		}
	}
}

// settle finds the cuts by which the peaks come down to the aim, one after the other, each on what the cuts
// of the others leave of it, and again those that others have raised beyond a level.
func (h *holder) settle(aim, level float64) {
	for range sweeps {
		settled := true
		for k, p := range h.peaks {
			most := aim
			if p.cut != 0 {
				most = level
			}
			if over := math.Abs(p.height) - most; over > 0 {
				over += min(2*over, spare*aim)
				h.cut(k, math.Copysign(over, p.height))
				settled = false
			}
		}
		if settled {
			return
		}
	}
}

// cut lowers peak k, and what its pulse does to the others near by.
func (h *holder) cut(k int, height float64) {
	h.peaks[k].cut += height
	at := h.peaks[k].at
	for i := k; i >= 0 && at-h.peaks[i].at < bandlimit.Near; i-- {
		h.peaks[i].height -= height * bandlimit.PulseAt(at-h.peaks[i].at)
	}
	for i := k + 1; i < len(h.peaks) && h.peaks[i].at-at < bandlimit.Near; i++ {
		h.peaks[i].height -= height * bandlimit.PulseAt(h.peaks[i].at-at)
	}
}

// findSample takes the sample peaks of a tile down to the aim of a pass.
func findSample(h *holder, pass, t int) {
	aim := h.aims[pass]
	x := h.in.Signal()
	for n := t*tile - 1; n < (t+1)*tile-1; n++ {
		sign := 1.0
		if x[n] < 0 {
			sign = -1
		}
		if over := sign*x[n] - aim; over > 0 && sign*x[n] >= sign*x[n-1] && sign*x[n] > sign*x[n+1] {
			h.changes(h.in.SubtractAt(n, sign*over))
		}
	}
}
