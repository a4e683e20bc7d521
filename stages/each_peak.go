package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// coarseGive and fineGive are how far a peak may rise above the largest of the values at twice and at four
// times the track's rate, as a part of how much they bend there; see kernel.Peaks.
const (
	coarseGive = 1.0 / 2
	fineGive   = 1.0 / 8
)

// eachPeak calls f with the peaks of a tile that pass an aim, in their order in time, as the values at four
// times the track's rate show them. One at the last value of the tile before it belongs to the tile, and one
// at its own last value to the next. Where it may be coarse, those values are not made unless the values at
// twice the rate show a peak: one may hide between two of these.
func eachPeak(in *bandlimit.Interpolator, fourfold *bandlimit.Fourfold, t int, aim float64,
	f func(bandlimit.Top)) {
	twice := in.At(2)
	if low := calm(2) * aim; !twice.MayPass(t, low) && !twice.MayPass(t-1, low) {
		return
	}
	for k := t - 1; k <= t+1; k++ {
		twice.Fill(k)
	}
	var mask [4 * tile / 64]uint64
	// A peak at one of the values at four times the rate is at one of these or next to it.
	const n = 2*tile + 2*kernel.Group
	kernel.Peaks(twice.Values(), 2*tile*t-kernel.Group, n, aim, coarseGive, mask[:(n+63)/64])
	if mask == [len(mask)]uint64{} {
		return
	}
	const step = 0.5
	u, at := fourfold.Fill(twice, t)
	kernel.Peaks(u, at-1, 4*tile, aim, fineGive, mask[:])
	for w, set := range mask {
		for ; set != 0; set &= set - 1 {
			i := 64*w + bits.TrailingZeros64(set) - 1
			place := float64(2*tile*t) + float64(step*float64(i))
			if top := twice.Summit(place, step, (*[3]float64)(u[at+i-1:])); math.Abs(top.Height) > aim {
				f(top)
			}
		}
	}
}
