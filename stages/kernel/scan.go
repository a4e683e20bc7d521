package kernel

// Cell is the number of values that Scan and Edge take together.
const Cell = 64

// Scan reads x, but for its first two values, which were there before, in cells, one
// for each of peaks. It sets peaks to the largest magnitude in a cell and bends to the
// largest magnitude of a second difference that ends in it, (x[i] + x[i-2]) - 2 x[i-1],
// and returns the sum and the sum of squares of all.
//
// If a value is infinite or not a number, so is squares, and the rest means nothing. It
// panics if x does not have two values and the cells, or bends are fewer than peaks.
func Scan(x, peaks, bends []float64) (sum, squares float64) {
	n := len(peaks)
	if n == 0 {
		return 0, 0
	}
	var s [16]float64 // eight lanes of the sum, then of the squares
	scan(x[:2+Cell*n], peaks, bends[:n], &s)
	return Lanes((*[8]float64)(s[:8])), Lanes((*[8]float64)(s[8:]))
}

// Lanes is the sum of eight lanes, by halves.
func Lanes(s *[8]float64) float64 {
	return ((s[0] + s[4]) + (s[2] + s[6])) + ((s[1] + s[5]) + (s[3] + s[7]))
}

// EdgeTaps is how many taps Edge takes.
const EdgeTaps = 21

// Edge is the sum over a cell's i of the squares of the sums over j of taps[j] * x[i+j].
// These add up the j of each remainder by 8 one after the other.
func Edge(x *[EdgeTaps - 1 + Cell]float64, taps *[EdgeTaps]float64) float64 { return edge(x, taps) }

// Above has bit i set where |x[i]| > limit, and none for a limit that is not a number.
func Above(x *[32]float64, limit float64) uint32 { return above(x, limit) }
