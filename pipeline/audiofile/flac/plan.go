package flac

import "math/bits"

// The ways in which a channel of a block is kept: RFC 9639, 9.2.1.
const (
	constant = iota
	verbatim
	fixed // predicted by a difference of the given order
	linear
)

// plan is how a channel of a block is to be written.
type plan struct {
	kind    int
	samples []int32 // without the wasted bits
	bits    int     // of a sample, without the wasted ones
	wasted  int     // low bits that are zero in all samples
	order   int     // of a prediction
	linear  quantised
	rest    []int32 // what the prediction missed, from sample order on
	rice    rice
	cost    int // in bits, nearly
}

// headBits is the length of what every subframe begins with, without its wasted bits.
const headBits = 8

// planner finds the shortest way to keep a channel. It has room for its candidates.
type planner struct {
	shifted  []int32
	residual [2][]int32 // of the best and of the one that is tried
	windowed []float64
	window   window
	rices    [2]rice
	sums     []uint64
}

// plan finds how to keep samples of that many bits. What it returns is good until its next call.
func (p *planner) plan(x []int32, width int) plan {
	all, same := int32(0), true
	for _, v := range x {
		all |= v
		same = same && v == x[0]
	}
	if same {
		return plan{kind: constant, samples: x[:1], bits: width, cost: headBits + width}
	}
	wasted := bits.TrailingZeros32(uint32(all))
	if wasted > 0 {
		p.shifted = sized(p.shifted, len(x))
		for i, v := range x {
			p.shifted[i] = v >> wasted
		}
		x, width = p.shifted, width-wasted
	}
	best := plan{kind: verbatim, samples: x, bits: width, wasted: wasted, cost: headBits + wasted + width*len(x)}
	best = p.tryFixed(best)
	return p.tryLinear(best)
}

// tryFixed is the fixed prediction of x, if that is shorter than the best so far.
func (p *planner) tryFixed(best plan) plan {
	x := best.samples
	order, _, ok := fixedOrder(x)
	if !ok {
		return best
	}
	p.residual[0] = sized(p.residual[0], len(x))
	rest := p.residual[0][:len(x)-order]
	if !fixedResidual(rest, x, order) {
		return best
	}
	p.planRice(&p.rices[0], rest, len(x), order)
	cost := headBits + best.wasted + order*best.bits + p.rices[0].cost
	if cost >= best.cost {
		return best
	}
	best.kind, best.order, best.rest, best.rice, best.cost = fixed, order, rest, p.rices[0], cost
	return best
}

// tryLinear is the linear prediction of x, if that is shorter than the best so far.
func (p *planner) tryLinear(best plan) plan {
	x := best.samples
	if len(x) < 4*linearOrders {
		return best
	}
	q, ok := p.quantised(x, best.bits)
	if !ok {
		return best
	}
	order := len(q.by)
	p.residual[1] = sized(p.residual[1], len(x))
	rest := p.residual[1][:len(x)-order]
	if !linearResidual(rest, x, q) {
		return best
	}
	p.planRice(&p.rices[1], rest, len(x), order)
	cost := headBits + best.wasted + order*(best.bits+q.precision) + 9 + p.rices[1].cost
	if cost >= best.cost {
		return best
	}
	best.kind, best.order, best.linear, best.rest, best.rice, best.cost = linear, order, q, rest,
		p.rices[1], cost
	return best
}

// sized is a slice of n values, s itself if it has room.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
