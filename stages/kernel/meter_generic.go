package kernel

import "math"

//choose:asm &x[0], &y[0], len(x), &w.outs[0][0], (*[8]float64)(s), e
func weighGeneric(x, y []float64, w *Weighing, s *States, e *[8]float64) {
	weighChannel(x, w, s, e, 0)
	weighChannel(y, w, s, e, 1)
}

// weighChannel is weighGeneric for one of the two channels.
func weighChannel(x []float64, w *Weighing, s *States, e *[8]float64, c int) {
	s0, s1, s2, s3 := s[c], s[2+c], s[4+c], s[6+c]
	var e0, e1, e2, e3 float64
	// What one input gives to the output 1, 2 and 3 frames later.
	h1, h2, h3 := w.outs[0][2], w.outs[0][4], w.outs[0][6]
	for ; len(x) >= 4; x = x[4:] {
		x0, x1, x2, x3 := x[0], x[1], x[2], x[3]
		y0 := x0
		y1 := float64(h1*x0) + x1
		y2 := math.FMA(h1, x1, float64(h2*x0)) + x2
		y3 := math.FMA(h1, x2, math.FMA(h2, x1, float64(h3*x0))) + x3
		for k, v := range [4]float64{s0, s1, s2, s3} {
			g := &w.outs[4+k]
			y0, y1, y2, y3 = math.FMA(g[0], v, y0), math.FMA(g[2], v, y1), math.FMA(g[4], v, y2), math.FMA(g[6], v, y3)
		}
		e0, e1, e2, e3 = math.FMA(y0, y0, e0), math.FMA(y1, y1, e1), math.FMA(y2, y2, e2), math.FMA(y3, y3, e3)

		n0, n1 := float64(w.nexts[0][0]*x0), float64(w.nexts[0][2]*x0)
		n2, n3 := float64(w.nexts[0][4]*x0), float64(w.nexts[0][6]*x0)
		for k, v := range [3]float64{x1, x2, x3} {
			b := &w.nexts[1+k]
			n0, n1, n2, n3 = math.FMA(b[0], v, n0), math.FMA(b[2], v, n1), math.FMA(b[4], v, n2), math.FMA(b[6], v, n3)
		}
		s0, s1 = math.FMA(w.change[0], s1, math.FMA(w.stay[0], s0, n0)),
			math.FMA(w.change[2], s0, math.FMA(w.stay[2], s1, n1))
		s2, s3 = math.FMA(w.change[4], s3, math.FMA(w.stay[4], s2, n2)),
			math.FMA(w.change[6], s2, math.FMA(w.stay[6], s3, n3))
	}
	s[c], s[2+c], s[4+c], s[6+c] = s0, s1, s2, s3
	e[c], e[2+c], e[4+c], e[6+c] = e0, e1, e2, e3
}

//choose:asm &x[2], &peaks[0], &bends[0], len(peaks), s
func scanGeneric(x, peaks, bends []float64, s *[16]float64) {
	before, last := x[0], x[1]
	x = x[2:]
	for t := range peaks {
		var peak, bend uint64
		for i, v := range x[t*Cell:][:Cell] {
			peak = max(peak, magnitude(v))
			bend = max(bend, magnitude((v+before)-2*last))
			before, last = last, v
			i %= 8
			s[i] += v
			s[8+i] = math.FMA(v, v, s[8+i])
		}
		peaks[t], bends[t] = math.Float64frombits(peak), math.Float64frombits(bend)
	}
}

//choose:asm x, taps
func edgeGeneric(x *[EdgeTaps - 1 + Cell]float64, taps *[EdgeTaps]float64) float64 {
	var sums [Cell]float64
	for first := range 8 {
		for j := first; j < EdgeTaps; j += 8 {
			addScaledGeneric(sums[:], x[j:][:Cell], taps[j])
		}
	}
	var s [8]float64
	for i, d := range sums {
		s[i%8] = math.FMA(d, d, s[i%8])
	}
	return Lanes(&s)
}

// magnitude is the bit pattern of |x|. Patterns of finite numbers are in the
// order of the magnitudes, and comparing them as integers needs no branch.
func magnitude(x float64) uint64 { return math.Float64bits(x) &^ (1 << 63) }

//choose:asm u, &e.Even[0], limit
//choose:as uint8(%s)
func mayPassGeneric(u *[19]float64, e *Eighths, limit float64) (set uint8) {
	for h := range 8 {
		u := (*[12]float64)(u[h:])
		var even, odd [4]float64
		for i := range e.Even {
			plus, minus := u[5-i]+u[6+i], u[5-i]-u[6+i]
			for p := range even {
				even[p] = math.FMA(e.Even[i][p], plus, even[p])
				odd[p] = math.FMA(e.Odd[i][p], minus, odd[p])
			}
		}
		points := [9]float64{u[5], even[0] + odd[0], even[1] + odd[1], even[2] + odd[2],
			even[3], even[2] - odd[2], even[1] - odd[1], even[0] - odd[0], u[6]}
		top, step := magnitude(u[5]), uint64(0)
		for i := 1; i < len(points); i++ {
			top, step = max(top, magnitude(points[i])), max(step, magnitude(points[i]-points[i-1]))
		}
		if math.FMA(0.125, math.Float64frombits(step), math.Float64frombits(top)) > limit {
			set |= 1 << h
		}
	}
	return set
}

//choose:asm x, limit
func aboveGeneric(x *[32]float64, limit float64) (set uint32) {
	for i, v := range x {
		if math.Abs(v) > limit {
			set |= 1 << i
		}
	}
	return set
}
