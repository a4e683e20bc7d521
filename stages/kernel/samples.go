package kernel

// Within is how many values from the first on have a magnitude of at most limit. A
// value that is not a number has none.
func Within(x []float64, limit float64) int { return within(x, limit) }

// squarable is the largest magnitude whose square is reckoned with.
const squarable = 1e150

// Taken compares samples with what a stage made of them: touched is how many
// have another value, cut the largest |in|/|out| of those of them that are beyond the
// ceiling, 1 if there is none, and removed the sum of (in-out)^2, which is made in
// eight lanes, that of i%8 for sample i. Samples beyond 1e150 count as touched only, and
// those that are not numbers not at all. It panics if out is shorter than in.
func Taken(in, out []float64, ceiling float64) (touched int, cut, removed float64) {
	var s [8]float64
	touched, cut = taken(in, out[:len(in)], ceiling, &s)
	return touched, cut, Lanes(&s)
}

// Clamp brings the samples of x within a ceiling and leaves those that are not numbers. Touched is
// how many were beyond it and top the largest magnitude of those, 0 if there is none. The squares of what
// it takes off are added to s, that of sample i to s[i%8]. Samples beyond 1e150 count as touched only.
func Clamp(x []float64, ceiling float64, s *[8]float64) (touched int, top float64) {
	return clamp(x, ceiling, s)
}

// Quantise makes of x[i] the code x[i]*scale + noise[i], rounded to an integer, ties to
// even, divided by the scale, which is a power of two: 0 is positive. It takes eight values at a time and
// ends before eight of which one has a code that is not from bottom to top, or where
// fewer are left. It returns how many it has made, and panics if noise is shorter than x.
func Quantise(x, noise []float64, scale, bottom, top float64) int {
	return quantise(x, noise[:len(x)], scale, 1/scale, bottom, top)
}

// RandomStep is the odd constant by which the counter behind random words goes on: 2^64
// over the golden ratio.
const RandomStep = 0x9e3779b97f4a7c15

// RandomWord is the word that belongs to a state of the counter: the mixing function is
// that of SplitMix64 (Steele, Lea and Flood, "Fast Splittable Pseudorandom Number
// Generators", OOPSLA 2014, with the constants of Stafford's variant 13).
func RandomWord(state uint64) uint64 {
	state = (state ^ state>>30) * 0xbf58476d1ce4e5b9
	state = (state ^ state>>27) * 0x94d049bb133111eb
	return state ^ state>>31
}

// Triangular fills noise with the differences of the upper and the lower half of the random words that
// follow a state of the counter, over 2^32: of two independent uniform values one step wide.
func Triangular(noise []float64, state uint64) { triangular(noise, state) }

// Decode24 takes the samples of two channels, which alternate in src with 24 bits each, the lowest byte
// first, to a and b, full scale being 1. It panics if b or src is too short for a.
func Decode24(a, b []float64, src []byte) { decode24(a, b[:len(a)], src[:6*len(a)]) }

// Encode24 does the reverse, rounding to the nearest code, ties to even. It takes four frames at
// a time and ends before four of which a sample is beyond the codes or no number, or
// where fewer are left. It returns how many frames it has taken, and panics if b or dst is too short for a.
func Encode24(dst []byte, a, b []float64) int { return encode24(dst[:6*len(a)], a, b[:len(a)]) }
