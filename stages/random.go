package stages

import "ledgerline/stages/kernel"

// The random words are those of SplitMix64: a counter stepped by an odd
// constant and put through a mixing function (see kernel.RandomWord). Word n
// depends on the key and on n alone, so noise can be had from any frame on, in
// any order, for several frames at once.

// randomState is the counter before word n of the stream of that key: word n
// is kernel.RandomWord(randomState(key, n) + kernel.RandomStep).
func randomState(key uint64, n int64) uint64 { return key + uint64(n)*kernel.RandomStep }

// randomKey makes one key of several seeds. Keys of seeds that differ in one
// place only are always different. All keys walk one circle of 2^64 words, so
// two streams of a day's length at 384 kHz meet with a chance below 1e-8.
func randomKey(seeds ...uint64) uint64 {
	var key uint64
	for _, s := range seeds {
		key = kernel.RandomWord(key + kernel.RandomStep + s)
	}
	return key
}
