package stages

import (
	"math"

	"ledgerline/stages/kernel"
)

// coarsePasses are the first, which look at twice the track's rate. Those behind them look at four times the rate,
// where no peak hides between two values, at what has changed since.
const coarsePasses = 2

// findTrue takes the true peaks of a tile down to the aim of a pass. A peak at
// the last value of the tile before it belongs to the tile, and one at its own last
// value to the next.
func findTrue(h *holder, pass, t int) {
	aim, rate := h.aims[pass], h.in.At(2)
	if pass >= coarsePasses {
		rate = h.in.At(holdFactor)
	}
	if low := calm(rate.Factor()) * aim; !rate.MayPass(t, low) && !rate.MayPass(t-1, low) {
		return
	}
	n := tile * rate.Factor()
	end := (t+1)*n - 1
	for m := t*n - 1; ; m++ {
		for k := t - 1; k <= t+1; k++ {
			rate.Fill(k)
		}
		m = kernel.FirstPeak(rate.Values(), m, end, aim)
		if m == end {
			return
		}
		top := rate.Summit(m)
		if over := math.Abs(top.Height) - aim; over > 0 {
			over += min(2*over, spare*aim)
			h.changes(h.in.Subtract(top.At, top.Fraction, math.Copysign(over, top.Height)))
		}
	}
}

// findSample takes the sample peaks of a tile down to the aim of a pass.
func findSample(h *holder, pass, t int) {
	aim := h.aims[pass]
	x := h.in.Signal()
	for n := t*tile - 1; n < (t+1)*tile-1; n++ {
		sign := 1.0
		if x[n] < 0 {
			sign = -1
		}
		if over := sign*x[n] - aim; over > 0 && sign*x[n] >= sign*x[n-1] && sign*x[n] > sign*x[n+1] {
			h.changes(h.in.SubtractAt(n, sign*over))
		}
	}
}
