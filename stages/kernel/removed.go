package kernel

// reckonable is the largest magnitude whose squares are added up: 2000 dB over
// full scale.
const reckonable = 1e100

// Removed compares samples with what a stage made of them. It adds the squares of
// in-out to the first eight lanes of s and the squares of in to the last eight, those
// of sample i to lane (at+i)%8, so that a caller who counts at from a fixed place gets
// the same bits however it cuts the samples up. It returns how many samples of in are
// beyond the ceiling. Where one of the two is not a number or beyond 1e100, neither is
// in a sum. It panics if out is shorter than in.
func Removed(in, out []float64, ceiling float64, at int, s *[16]float64) (beyond int) {
	out = out[:len(in)]
	head := min(-at&7, len(in))
	beyond = removedGeneric(in[:head], out[:head], ceiling, at, s)
	in, out = in[head:], out[head:]
	n := len(in) &^ 7
	if n > 0 {
		beyond += removed(in[:n], out[:n], ceiling, s)
	}
	return beyond + removedGeneric(in[n:], out[n:], ceiling, 0, s)
}

// Lanes is the sum of eight lanes, by halves.
func Lanes(s *[8]float64) float64 { return lanes(s) }
