package meter

import "math"

// LoudnessChange is how much louder after is than before, in LU, over the 400 ms
// blocks that pass both gates in before: the same blocks on both sides. Where
// the same blocks pass in after too, it is the difference of the two integrated
// loudnesses, to the last bit. Where others do, that difference also has what
// moved with the gate: a clip that only lowers the loud part of a track lowers
// the gate, and may so admit the quiet part.
//
// It is NaN where no block of before passes, and -Inf where after is silent in
// all of them. It disturbs neither meter. The blocks are told by their times, so that the two may
// be of different rates; it panics if they are of one and have not heard as many frames.
func LoudnessChange(before, after *Meter) float64 {
	b, a := before.endedLoudness(), after.endedLoudness()
	if b.rate == a.rate && b.n != a.n {
		panic("meter: two signals of different lengths")
	}
	gate := b.gate()
	var from, to float64
	n := 0
	for end := momentary / step; end <= min(len(b.steps), len(a.steps)); end++ {
		if z := b.block(end, momentary); z > gate {
			from += z
			to += a.block(end, momentary)
			n++
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return lufs(to/float64(n)) - lufs(from/float64(n))
}
