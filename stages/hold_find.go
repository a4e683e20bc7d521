package stages

import (
	"math"

	"ledgerline/stages/kernel"
)

// findTrue takes the true peaks of a tile down to the aim of a pass. A peak at
// the last value of the tile before it belongs to the tile, and one at its own last
// value to the next.
func findTrue(h *holder, pass, t int) {
	aim := h.aims[pass]
	if low := calm(holdFactor) * aim; !h.in.MayPass(t, low) && !h.in.MayPass(t-1, low) {
		return
	}
	const n = tile * holdFactor
	end := (t+1)*n - 1
	for m := t*n - 1; ; m++ {
		for k := t - 1; k <= t+1; k++ {
			h.in.Fill(k)
		}
		m = kernel.FirstPeak(h.in.Values(), m, end, aim)
		if m == end {
			return
		}
		at, fraction, v := h.peak(m)
		if over := math.Abs(v) - aim; over > 0 {
			over += min(over/2, spare*aim)
			h.changes(h.in.Subtract(at, fraction, math.Copysign(over, v)))
		}
	}
}

// peak looks at the peak at value m: it lies a fraction of a value behind value
// at and is v high, with its sign.
func (h *holder) peak(m int) (at int, fraction, v float64) {
	u := h.in.Values()
	sign, a, b, d := 1.0, u[m-1], u[m], u[m+1]
	if b < 0 {
		sign, a, b, d = -1, -a, -b, -d
	}
	// Where the parabola through the three has its peak, counted from the middle one.
	top := 0.5 * (a - d) / ((a - b) + (d - b))
	likely, other := m, m-1
	if a > d {
		likely, other = other, likely
	}
	for _, k := range [2]int{likely, other} {
		curve := h.in.Curve(k)
		x, v, ok := curve.Summit(top - 0.5 + float64(m-k))
		if !ok {
			if x, ok = curve.Extremum(-0.5, 0.5); ok {
				v = curve.Value(x)
			}
		}
		if ok && sign*v >= b {
			return k, x + 0.5, v
		}
	}
	// Where a curve turns twice between two values, the value itself will do.
	return m, 0, u[m]
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
