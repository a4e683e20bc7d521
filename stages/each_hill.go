package stages

import (
	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// coarseGive is how far a peak may rise above the largest of the values at twice the track's rate, as a part
// of how much they bend there; see kernel.Peaks.
const coarseGive = 1.0 / 2

// eachHill calls f with the peaks of a tile that may pass an aim, see Fourfold.EachHill: only if the values
// at twice the rate show one, since a peak at one of the values at four times the rate is at one of these or
// next to it.
func eachHill(in *bandlimit.Interpolator, fourfold *bandlimit.Fourfold, t int, aim float64,
	f func(*bandlimit.Hills)) {
	twice := in.At(2)
	if low := calm(2) * aim; !twice.MayPass(t, low) && !twice.MayPass(t-1, low) {
		return
	}
	for k := t - 1; k <= t+1; k++ {
		twice.Fill(k)
	}
	var mask [4 * tile / 64]uint64
	const n = 2*tile + 2*kernel.Group
	kernel.Peaks(twice.Values(), 2*tile*t-kernel.Group, n, aim, coarseGive, mask[:(n+63)/64])
	if mask == [len(mask)]uint64{} {
		return
	}
	fourfold.EachHill(twice, t, aim, f)
}
