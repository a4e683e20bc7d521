package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// rises reports whether the signal passes a level at a peak near one of the values from first to end-1. At the
// track's rate the values count alone; at twice that, what lies between them.
func rises(at *bandlimit.Rate, first, end int, level float64) bool {
	u := at.Values()
	if at.Factor() == 1 {
		return kernel.MaxAbs(u[first:end]) > level
	}
	var mask [1]uint64
	for from := first; from < end; from += 64 {
		kernel.Peaks(u, from, 64, level, coarseGive, mask[:])
		for set := mask[0]; set != 0; set &= set - 1 {
			m := from + bits.TrailingZeros64(set)
			if m >= end {
				break
			}
			if top := at.Summit(float64(m), 1, (*[3]float64)(u[m-1:])); math.Abs(top.Height) > level {
				return true
			}
		}
	}
	return false
}
