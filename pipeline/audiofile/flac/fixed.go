package flac

// fixedOrders are 0 to 4: a sample is predicted as the polynomial through so many before it.
const fixedOrders = 4

// fixedOrder is the order whose differences are the smallest in sum, and that sum; ok is false where x is too
// short for any.
func fixedOrder(x []int32) (order int, sum uint64, ok bool) {
	if len(x) <= fixedOrders {
		return 0, 0, false
	}
	var sums [fixedOrders + 1]uint64
	// The differences of the samples before the first that all orders can predict.
	d0 := int64(x[3])
	d1 := d0 - int64(x[2])
	d2 := d1 - int64(x[2]) + int64(x[1])
	d3 := d2 - (int64(x[2]) - 2*int64(x[1]) + int64(x[0]))
	for _, v := range x[fixedOrders:] {
		e0 := int64(v)
		e1 := e0 - d0
		e2 := e1 - d1
		e3 := e2 - d2
		e4 := e3 - d3
		sums[0] += magnitude(e0)
		sums[1] += magnitude(e1)
		sums[2] += magnitude(e2)
		sums[3] += magnitude(e3)
		sums[4] += magnitude(e4)
		d0, d1, d2, d3 = e0, e1, e2, e3
	}
	for k, s := range sums {
		if s < sums[order] {
			order = k
		}
	}
	return order, sums[order], true
}

// magnitude is |x|.
func magnitude(x int64) uint64 {
	s := x >> 63
	return uint64((x ^ s) - s)
}

// fixedResidual fills rest with what the fixed prediction of an order misses of x. It is false where a
// value is larger than a frame can have.
func fixedResidual(rest, x []int32, order int) bool {
	most := uint64(0)
	for i := range rest {
		e := int64(x[i+order]) - predictFixed(x[i:i+order])
		most |= magnitude(e)
		rest[i] = int32(e)
	}
	return most <= maxResidual
}

// predictFixed is what the polynomial through x has next. RFC 9639, 9.2.5.
func predictFixed[T int32 | int64](x []T) int64 {
	switch n := len(x); n {
	case 1:
		return int64(x[0])
	case 2:
		return 2*int64(x[1]) - int64(x[0])
	case 3:
		return 3*int64(x[2]) - 3*int64(x[1]) + int64(x[0])
	case 4:
		return 4*int64(x[3]) - 6*int64(x[2]) + 4*int64(x[1]) - int64(x[0])
	}
	return 0
}
