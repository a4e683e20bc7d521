package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

const (
	// hiddenFrom is how far from a peak, in values at twice the rate, a climb to a hidden one starts: beyond any
	// that is closer than two values at four times the rate.
	hiddenFrom = 1.05
	// onePeak is how close together, in values, two pulses would be one. 0.05 measures the same; 0.5 leaves 2
	// samples for the clamp.
	onePeak = 0.2
	// foundAgain is how close together, in values, two peaks were found that are one. It only spares looking for
	// the middle again: onePeak finds them out, too.
	foundAgain = 0.05
)

// meets adds peaks that a search has found, and any that they hide, to those that a pass takes down. It
// returns how high they may be after that: 0 if they are below the aim, their height if it is within their
// level, infinite if one of them is cut, since its pulse may leave some of it.
//
// Of two humps closer than two values at four times the rate, those values show one or both, depending on
// where they lie (6310.0 Hz, 2.5 dB over: 79 dB). So where the signal rises beside a peak, a climb starts on
// that side. If it leads to the same peak, it adds nothing.
func (h *holder) meets(p *pass, hills *bandlimit.Hills) (high float64) {
	tops := hills.Tops()
	var levels [bandlimit.AtOnce]float64
	for i, top := range tops {
		if levels[i] = math.MaxFloat64; math.Abs(top.Height) > p.aim {
			levels[i] = h.levelAt(p, top.At)
		}
	}
	hills.Descend(&levels)
	for i, top := range tops {
		if !(math.Abs(top.Height) > p.aim) {
			continue
		}
		if hills.MayHide(i, 0, p.aim) {
			high = max(high, h.hidden(p, top.At-hiddenFrom))
		}
		high = max(high, h.takeDown(p, top, levels[i], func() bandlimit.Top { return hills.Middle(i, levels[i]) }))
		if hills.MayHide(i, 1, p.aim) {
			high = max(high, h.hidden(p, top.At+hiddenFrom))
		}
	}
	return high
}

// levelAt is what a pass takes a peak at a place down to.
func (h *holder) levelAt(p *pass, at float64) float64 { return p.level(h.ceiling, h.struck.near(at)) }

// hidden takes down the peak that a climb from a place leads to, if there is one.
func (h *holder) hidden(p *pass, place float64) float64 {
	at := h.in.At(2)
	top, ok := at.Near(place)
	if !ok || !(math.Abs(top.Height) > p.aim) {
		return 0
	}
	level := h.levelAt(p, top.At)
	return h.takeDown(p, top, level, func() bandlimit.Top { return at.Middle(top, level) })
}

// takeDown adds a peak above the aim to those that a pass takes down, if it is higher than the level it is to
// come down to. Its pulse goes to the middle of what passes half its excess: a flat top's own peak jumps from
// hump to hump, its middle does not.
func (h *holder) takeDown(p *pass, top bandlimit.Top, level float64, middle func() bandlimit.Top) float64 {
	if !(math.Abs(top.Height) > level) {
		return math.Abs(top.Height)
	}
	if !p.has(top) && p.add(top.At, middle(), level) && h.link != nil {
		h.link.lead(h, p)
	}
	return math.Inf(1)
}

// has reports whether a peak lies where the last one was found, or before it.
func (p *pass) has(top bandlimit.Top) bool {
	n := len(p.peaks)
	return n > 0 && top.At-p.peaks[n-1].found < foundAgain
}

// add appends a peak that was found at a place, unless its pulse would go where the last one's does, and
// reports whether it did.
func (p *pass) add(found float64, top bandlimit.Top, level float64) bool {
	if n := len(p.peaks); n > 0 && top.At-p.peaks[n-1].at < onePeak {
		return false
	}
	over := math.Abs(top.Height) - level
	p.peaks = append(p.peaks, peak{found: found, at: top.At, over: math.Copysign(over, top.Height)})
	return true
}
