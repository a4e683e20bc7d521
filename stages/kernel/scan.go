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
	return lanes((*[8]float64)(s[:8])), lanes((*[8]float64)(s[8:]))
}

// lanes is the sum of s, by halves.
func lanes(s *[8]float64) float64 {
	return ((s[0] + s[4]) + (s[2] + s[6])) + ((s[1] + s[5]) + (s[3] + s[7]))
}

// Edge tells how much of x lies near half the rate: it is the sum of the squares of the
// eighth differences that end in x[8:], a cell. The first of them is
// ((((x[0]+x[8]) - 8 (x[1]+x[7])) + 28 (x[2]+x[6])) - 56 (x[3]+x[5])) + 70 x[4].
func Edge(x *[8 + Cell]float64) float64 { return edge(x) }

// Above has bit i set where |x[i]| > limit, and none for a limit that is not a number.
func Above(x *[32]float64, limit float64) uint32 { return above(x, limit) }
