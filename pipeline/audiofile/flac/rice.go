package flac

import "math/bits"

// mostParts is the logarithm of the most partitions that are tried.
const mostParts = 6

// rice is how a residual is coded: in 2^parts partitions of one length, each with a parameter of its own,
// which is how many low bits of a number are kept as they are; how many times 2^parameter fits the rest is a
// row of zeros.
type rice struct {
	parts  int
	params [1 << mostParts]uint8
	wide   bool // parameters have five bits, not four
	cost   int  // in bits, nearly
}

// folded is a number with its sign in its lowest bit: 0, -1, 1, -2, ...
func folded(e int32) uint32 { return uint32(e<<1) ^ uint32(e>>31) }

// planRice finds the partitions of the residual of a block of n samples.
func (p *planner) planRice(r *rice, rest []int32, n, order int) {
	finest := min(mostParts, bits.TrailingZeros(uint(n)))
	for finest > 0 && n>>finest <= order {
		finest--
	}
	p.sums = sized(p.sums, 1<<finest)
	at := 0
	for k := range p.sums {
		end := n>>finest*(k+1) - order
		s := uint64(0)
		for _, e := range rest[at:end] {
			s += uint64(folded(e))
		}
		p.sums[k], at = s, end
	}
	r.cost = 1 << 62
	for parts := finest; ; parts-- {
		var try rice
		try.parts, try.cost = parts, 6
		for k, s := range p.sums[:1<<parts] {
			count := n >> parts
			if k == 0 {
				count -= order
			}
			param, cost := parameter(s, count)
			try.params[k] = param
			try.wide = try.wide || param > 14
			try.cost += cost
		}
		each := 4
		if try.wide {
			each = 5
		}
		try.cost += each << parts
		if try.cost < r.cost {
			*r = try
		}
		if parts == 0 {
			return
		}
		for k := range 1 << (parts - 1) {
			p.sums[k] = p.sums[2*k] + p.sums[2*k+1]
		}
	}
}

// parameter is that of the shortest code for so many numbers of that sum, and its length: each number has a
// one and the parameter's bits, and of the sum there are what is left of it above those bits, where the bits
// below are taken to be half of their most.
func parameter(sum uint64, count int) (uint8, int) {
	n := uint64(count)
	if n == 0 {
		return 0, 0
	}
	k := uint(0)
	if mean := sum / n; mean > 0 {
		k = uint(bits.Len64(mean)) - 1
	}
	best, least := uint8(0), uint64(1)<<62
	for try := max(k, 1) - 1; try <= min(k+1, 30); try++ {
		below := n * (1<<try - 1) / 2
		above := uint64(0)
		if sum > below {
			above = (sum - below) >> try
		}
		if cost := n*uint64(1+try) + above; cost < least {
			best, least = uint8(try), cost
		}
	}
	return best, int(least)
}

// write appends the residual of a block of n samples.
func (r *rice) write(w *bitWriter, rest []int32, n int) {
	width := uint(4)
	if r.wide {
		width = 5
	}
	w.put(uint64(width-4), 2)
	w.put(uint64(r.parts), 4)
	order, at := n-len(rest), 0
	for k := range 1 << r.parts {
		param := uint(r.params[k])
		w.put(uint64(param), width)
		end := n>>r.parts*(k+1) - order
		for _, e := range rest[at:end] {
			u := folded(e)
			above := uint(u >> param)
			low := uint64(u)&(1<<param-1) | 1<<param
			if above+param < 48 {
				w.put(low, above+1+param)
			} else {
				w.zeros(above)
				w.put(low, 1+param)
			}
		}
		at = end
	}
}
