package stages

// The random words are those of SplitMix64: a counter stepped by an odd
// constant and put through a mixing function (Steele, Lea and Flood, "Fast
// Splittable Pseudorandom Number Generators", OOPSLA 2014; the mixing
// constants are Stafford's variant 13, which that generator uses). Word n
// depends on the key and on n alone, so noise can be had from any frame on, in
// any order, for several frames at once.

// randomStep is the odd constant by which the counter goes on: 2^64 over the
// golden ratio.
const randomStep = 0x9e3779b97f4a7c15

// randomWord is the word that belongs to a state of the counter.
func randomWord(state uint64) uint64 {
	state = (state ^ state>>30) * 0xbf58476d1ce4e5b9
	state = (state ^ state>>27) * 0x94d049bb133111eb
	return state ^ state>>31
}

// randomState is the counter before word n of the stream of that key: word n
// is randomWord(randomState(key, n) + randomStep).
func randomState(key uint64, n int64) uint64 { return key + uint64(n)*randomStep }

// randomKey makes one key of several seeds. Keys of seeds that differ in one
// place only are always different. All keys walk one circle of 2^64 words, so
// two streams of a day's length at 384 kHz meet with a chance below 1e-8.
func randomKey(seeds ...uint64) uint64 {
	var key uint64
	for _, s := range seeds {
		key = randomWord(key + randomStep + s)
	}
	return key
}
