package bandlimit

import "math"

// MayRise reports whether the signal may pass the ceiling in a tile, at its frames or anywhere between them
// up to the next one. It is never false where it does: the values at 16 times the rate are bounded by the
// frames around (see bound), and between two of these a band-limited signal rises above the higher by
// (pi/16)^2/8 at most (Bernstein's inequality).
func (ip *Interpolator) MayRise(tile int, ceiling float64) bool {
	const calm = 1 - math.Pi/16*math.Pi/16/8
	return ip.rates[0].mayBePassed(tile, dependence, ip.overall, calm*ceiling)
}
