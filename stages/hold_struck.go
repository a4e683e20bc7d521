package stages

import "math"

// A struck holds, of each tile, where in it pulses have been taken off, in values at twice the rate from its first.
type struck [][]float64

// struckReach is how far from a pulse, in values at twice the rate, a peak counts that is not over the ceiling but beyond
// the aim of a later pass. Where one looks is told by tiles, which must not decide anything: all within this
// distance of a pulse is in a tile that the pulse has touched.
const struckReach = 64

// newStruck has room for so many pulses a tile that it hardly ever needs more.
func newStruck(tiles int) struck {
	const room = 2 * tile
	s := make(struck, tiles)
	all := make([]float64, tiles*room)
	for t := range s {
		s[t] = all[t*room : t*room : (t+1)*room]
	}
	return s
}

// add notes a pulse, unless there is one already not half a value away.
func (s struck) add(at float64) {
	t := int(at) / (2 * tile)
	at -= float64(2 * tile * t)
	for _, pulse := range s[t] {
		if math.Abs(pulse-at) < 0.5 {
			return
		}
	}
	s[t] = append(s[t], at)
}

// near reports whether a pulse has been taken off within reach of a place.
func (s struck) near(at float64) bool {
	t := int(at) / (2 * tile)
	for k := t - 1; k <= t+1; k++ {
		here := at - float64(2*tile*k)
		for _, pulse := range s[k] {
			if math.Abs(pulse-here) < struckReach {
				return true
			}
		}
	}
	return false
}

// drop says that the first tiles have been forgotten. Their lists are used again.
func (s struck) drop(tiles int) {
	for range tiles {
		first := s[0][:0]
		copy(s, s[1:])
		s[len(s)-1] = first
	}
}
