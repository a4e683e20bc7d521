package stages

import (
	"math"
	"slices"
)

// A struck has, for each tile, the pulses that have been taken off in it: by the first pass of a holder, or
// in the whole band. They are what lowers the level of the peaks near them in later passes. If those of all
// passes did, each pass would lower the flat top of a low tone further towards its middle and never be done
// (40 Hz, 4 dB over: 106 dB, and 20 samples are left for the clamp).
type struck [][]strike

// A strike is a pulse's place, in values at twice the rate from its tile's first, and height, without its
// sign.
type strike struct{ at, height float64 }

// newStruck has room for so many pulses a tile.
func newStruck(tiles, room int) struck {
	s := make(struck, tiles)
	all := make([]strike, tiles*room)
	for t := range s {
		s[t] = all[t*room : t*room : (t+1)*room]
	}
	return s
}

// add notes a pulse, together with one not half a value away if there is one.
func (s struck) add(at, height float64) {
	t := int(at) / (2 * tile)
	at -= float64(2 * tile * t)
	for i := range s[t] {
		if pulse := &s[t][i]; math.Abs(pulse.at-at) < 0.5 {
			pulse.height += height
			pulse.at += (at - pulse.at) * height / pulse.height
			return
		}
	}
	s[t] = append(s[t], strike{at, height})
}

// near is the sum of the heights of the pulses near a place, each the less the further away it is.
func (s struck) near(at float64) float64 {
	sum := 0.0
	for t := int(at-nearReach) / (2 * tile); t <= int(at+nearReach)/(2*tile); t++ {
		here := at - float64(2*tile*t)
		for _, pulse := range s[t] {
			x := (pulse.at - here) * (1.0 / nearReach)
			if by := 1 - float64(x*x); by > 0 { // as bump, in line
				sum += float64(pulse.height * float64(by*by))
			}
		}
	}
	return sum
}

// drop says that the first tiles have been forgotten. Their lists are used again.
func (s struck) drop(tiles int) {
	if tiles = min(tiles, len(s)); tiles == 0 {
		return
	}
	for t := range tiles {
		s[t] = s[t][:0]
	}
	slices.Reverse(s[:tiles]) // three reversals turn it, so that no list is lost
	slices.Reverse(s[tiles:])
	slices.Reverse(s)
}

// clear forgets all pulses.
func (s struck) clear() {
	for t := range s {
		s[t] = s[t][:0]
	}
}
