package stages

import (
	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// coarseGive is how far a peak may rise above the largest of the values at twice the track's rate, as a part of
// how much they bend there; see kernel.Peaks.
const coarseGive = 1.0 / 2

// eachHill calls f with the peaks of a tile that may pass an aim, see Fourfold.EachHill. Where it may be coarse, those values are not made unless the values at
// twice the rate show a peak: one may hide between two of these.
func eachHill(in *bandlimit.Interpolator, fourfold *bandlimit.Fourfold, t int, aim float64, coarse bool,
	f func(*bandlimit.Hills)) {
	twice := in.At(2)
	if low := calm(2) * aim; !twice.MayPass(t, low) && !twice.MayPass(t-1, low) {
		return
	}
	for k := t - 1; k <= t+1; k++ {
		twice.Fill(k)
	}
	if coarse { // A peak at one of the values at four times the rate is at one of these or next to it.
		var mask [4 * tile / 64]uint64
		const n = 2*tile + 2*kernel.Group
		kernel.Peaks(twice.Values(), 2*tile*t-kernel.Group, n, aim, coarseGive, mask[:(n+63)/64])
		if mask == [len(mask)]uint64{} {
			return
		}
	}
	fourfold.EachHill(twice, t, aim, f)
}
