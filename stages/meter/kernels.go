package meter

import "math"

// The inner loops. Each states its sums in an order that can be kept when
// several lanes work at once, and no product is fused into a sum, so that
// every processor gives the same bits.

// magnitude is the bit pattern of |x|. Patterns of finite numbers are in the
// order of the magnitudes, and comparing them as integers needs no branch,
// which would be mispredicted again and again in short cells.
func magnitude(x float64) uint64 { return math.Float64bits(x) &^ (1 << 63) }

// scan is the sum, the sum of squares and the largest magnitude of x. Sums run
// in four lanes, sample i in lane i mod 4. Where a sample is infinite or no
// number, squares are that too and peak means nothing.
func scan(x []float64) (sum, squares, peak float64) {
	var s0, s1, s2, s3, q0, q1, q2, q3 float64
	var p0, p1 uint64
	for len(x) >= 4 {
		a, b, c, d := x[0], x[1], x[2], x[3]
		p0 = max(p0, magnitude(a))
		p1 = max(p1, magnitude(b))
		p0 = max(p0, magnitude(c))
		p1 = max(p1, magnitude(d))
		s0, s1, s2, s3 = s0+a, s1+b, s2+c, s3+d
		q0, q1, q2, q3 = q0+float64(a*a), q1+float64(b*b), q2+float64(c*c), q3+float64(d*d)
		x = x[4:]
	}
	for i, a := range x {
		p0 = max(p0, magnitude(a))
		aa := float64(a * a)
		switch i {
		case 0:
			s0, q0 = s0+a, q0+aa
		case 1:
			s1, q1 = s1+a, q1+aa
		case 2:
			s2, q2 = s2+a, q2+aa
		}
	}
	return (s0 + s1) + (s2 + s3), (q0 + q1) + (q2 + q3), math.Float64frombits(max(p0, p1))
}

// sharpest is the largest magnitude of a second difference
// (x[i] - x[i-1]) - (x[i-1] - x[i-2]), i from 2. x has two samples or more.
func sharpest(x []float64) float64 {
	var top uint64
	last := x[1]
	before := last - x[0]
	for _, v := range x[2:] {
		step := v - last
		top = max(top, magnitude(step-before))
		last, before = v, step
	}
	return math.Float64frombits(top)
}

// weigh sends x through the K-weighting without its gains and returns the sum
// of the squares that come out.
func weigh(x []float64, s *weightState, k *kWeighting) float64 {
	b1, b2, a1, a2, c1, c2 := k.b1, k.b2, k.a1, k.a2, k.c1, k.c2
	s1, s2, t1, t2 := s.s1, s.s2, s.t1, s.t2
	var sum float64
	for _, v := range x {
		y := v + s1
		s1 = (float64(b1*v) + s2) - float64(a1*y)
		s2 = float64(b2*v) - float64(a2*y)
		z := y + t1
		t1 = (t2 - (y + y)) - float64(c1*z)
		t2 = y - float64(c2*z)
		sum += float64(z * z)
	}
	*s = weightState{s1, s2, t1, t2}
	return sum
}

// weighPair is weigh for two channels of one length, side by side because one
// alone leaves the processor waiting for its own last result.
func weighPair(x, xx []float64, s, ss *weightState, k *kWeighting) (sum, sum2 float64) {
	b1, b2, a1, a2, c1, c2 := k.b1, k.b2, k.a1, k.a2, k.c1, k.c2
	s1, s2, t1, t2 := s.s1, s.s2, s.t1, s.t2
	u1, u2, v1, v2 := ss.s1, ss.s2, ss.t1, ss.t2
	xx = xx[:len(x)]
	for i, v := range x {
		y := v + s1
		s1 = (float64(b1*v) + s2) - float64(a1*y)
		s2 = float64(b2*v) - float64(a2*y)
		z := y + t1
		t1 = (t2 - (y + y)) - float64(c1*z)
		t2 = y - float64(c2*z)
		sum += float64(z * z)

		v = xx[i]
		y = v + u1
		u1 = (float64(b1*v) + u2) - float64(a1*y)
		u2 = float64(b2*v) - float64(a2*y)
		z = y + v1
		v1 = (v2 - (y + y)) - float64(c1*z)
		v2 = y - float64(c2*z)
		sum2 += float64(z * z)
	}
	*s, *ss = weightState{s1, s2, t1, t2}, weightState{u1, u2, v1, v2}
	return sum, sum2
}

// middle is the signal half way between x[31] and x[32]. The sum runs in four
// lanes, tap i in lane i mod 4.
func middle(x *[2 * halfTaps]float64, h *[halfTaps]float64) float64 {
	var s0, s1, s2, s3 float64
	for i := 0; i < halfTaps; i += 4 {
		s0 += float64(h[i] * (x[halfTaps-1-i] + x[halfTaps+i]))
		s1 += float64(h[i+1] * (x[halfTaps-2-i] + x[halfTaps+1+i]))
		s2 += float64(h[i+2] * (x[halfTaps-3-i] + x[halfTaps+2+i]))
		s3 += float64(h[i+3] * (x[halfTaps-4-i] + x[halfTaps+3+i]))
	}
	return (s0 + s1) + (s2 + s3)
}

// between are the two values that lie a number of eighths behind u[5] and
// before u[6]; the taps h are for that number.
func between(u []float64, h *eighthTaps) (behind, before float64) {
	u = u[:12]
	even := (float64(h.even[0]*(u[5]+u[6])) + float64(h.even[1]*(u[4]+u[7]))) +
		(float64(h.even[2]*(u[3]+u[8])) + float64(h.even[3]*(u[2]+u[9]))) +
		(float64(h.even[4]*(u[1]+u[10])) + float64(h.even[5]*(u[0]+u[11])))
	odd := (float64(h.odd[0]*(u[5]-u[6])) + float64(h.odd[1]*(u[4]-u[7]))) +
		(float64(h.odd[2]*(u[3]-u[8])) + float64(h.odd[3]*(u[2]-u[9]))) +
		(float64(h.odd[4]*(u[1]-u[10])) + float64(h.odd[5]*(u[0]-u[11])))
	return even + odd, even - odd
}
