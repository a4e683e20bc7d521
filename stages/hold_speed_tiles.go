package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// news reports whether a pass may find a peak in a tile. The first looks everywhere, those after it where
// pulses may have raised something beyond the aim.
func (h *holder) news(p *pass, t int) bool {
	if p.first {
		return true
	}
	high := h.highest[t] + h.risen[t]
	return h.risen[t] > 0 && high > p.aim && high > p.level(h.ceiling, h.struck.around(t))
}

// sees notes that a pass looks at a tile.
func (h *holder) sees(p *pass, t int) { h.risen[t], h.highest[t] = 0, p.aim }

// seek finds the peaks of a tile that may pass the aim.
func (h *holder) seek(p *pass, t int) {
	h.sees(p, t)
	eachHill(h.in, &h.fourfold, t, p.aim, func(hills *bandlimit.Hills) {
		h.highest[t] = max(h.highest[t], h.meets(p, hills))
	})
}

// subtract takes the pulses off, and notes in each tile that they reach how far they may have raised what is
// there. Within its main lobe a pulse only lowers the peak that it is on; beside that it can raise others.
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

// around is no less than near is anywhere in a tile.
func (s struck) around(t int) float64 {
	sum := 0.0
	for _, pulses := range s[t-1 : t+2] {
		for _, pulse := range pulses {
			sum += pulse.height
		}
	}
	return sum
}
