package stages

// findTrue takes the true peaks of a tile down to the aim of a pass. A peak at
// the last value of the tile before it belongs to the tile, and one at its own last
// value to the next.
func findTrue(h *holder, pass, t int) {
	aim := h.aims[pass]
	if !h.in.MayPass(t, aim) && !h.in.MayPass(t-1, aim) {
		return
	}
	for k := t - 1; k <= t+1; k++ {
		h.in.Fill(k)
	}
	if max(h.in.Peak(t-1), h.in.Peak(t)) <= calm*aim {
		return
	}
	h.in.Values(h.values, t)
	from := t * tile * holdFactor
	for i := range tile * holdFactor {
		if x := h.values.At(i - 1); x <= calm*aim && x >= -calm*aim {
			continue
		}
		if k, x, over := h.peak(i-1, aim); over != 0 {
			h.changes(h.in.Subtract(from+k, x, over))
			h.in.Values(h.values, t)
		}
	}
}

// peak looks for a peak at value i that passes the aim: at a fraction of a value
// behind value at, by over, with its sign; over is 0 where there is none.
func (h *holder) peak(i int, aim float64) (at int, fraction, over float64) {
	sign := 1.0
	a, b, d := h.values.At(i-1), h.values.At(i), h.values.At(i+1)
	if b < 0 {
		sign, a, b, d = -1, -a, -b, -d
	}
	// A parabola through the three peaks an eighth of its bend above the middle at
	// most, other curves not twice that.
	bend := (a - b) + (d - b)
	if a > b || d >= b || b-bend/4 <= aim {
		return 0, 0, 0
	}
	likely, other := i, i-1
	if a > d {
		likely, other = other, likely
	}
	for _, k := range [2]int{likely, other} {
		curve := h.values.Curve(k)
		if x, ok := curve.Extremum(-0.5, 0.5); ok {
			if v, _, _, _ := curve.At(x); sign*v >= b {
				return k, x + 0.5, sign * max(sign*v-aim, 0)
			}
		}
	}
	// Where a curve turns twice between two values, the value itself will do.
	return i, 0, sign * max(b-aim, 0)
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
