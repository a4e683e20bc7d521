package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// foundAgain is how close together, in values at twice the rate, two peaks were found that are one. It only
// spares looking for the middle again: bandlimit.OnePeak finds them out, too.
const foundAgain = 0.05

// meets adds peaks that a search has found, and any that they hide, to those that a pass takes down. It
// returns how high they may be after that: 0 if they are below the aim, their height if it is within their
// level, infinite if one of them is cut, since its pulse may leave some of it.
func (h *holder) meets(p *pass, hills *bandlimit.Hills) (high float64) {
	hills.Each(p.aim, func(at float64) float64 { return h.levelAt(p, at) },
		func(top bandlimit.Top, hill int, level float64) {
			high = max(high, h.takeDown(p, hills, top, hill, level))
		})
	return high
}

// levelAt is what a pass takes a peak at a place down to.
func (h *holder) levelAt(p *pass, at float64) float64 { return p.level(h.ceiling, h.struck.near(at)) }

// takeDown adds a peak above the aim to those that a pass takes down, if it is higher than the level it is to
// come down to. Its pulse goes to the middle of what passes half its excess: a flat top's own peak jumps from
// hump to hump, its middle does not.
func (h *holder) takeDown(p *pass, hills *bandlimit.Hills, top bandlimit.Top, hill int,
	level float64) float64 {
	if !(math.Abs(top.Height) > level) {
		return math.Abs(top.Height)
	}
	if !p.has(top) && p.add(top.At, hills.Middle(top, hill, level), level) && h.link != nil {
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
	if n := len(p.peaks); n > 0 && top.At-p.peaks[n-1].at < bandlimit.OnePeak {
		return false
	}
	over := math.Abs(top.Height) - level
	p.peaks = append(p.peaks, peak{found: found, at: top.At, over: math.Copysign(over, top.Height)})
	return true
}
