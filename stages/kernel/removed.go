package kernel

// reckonable is the largest magnitude whose squares are added up: 2000 dB over
// full scale.
const reckonable = 1e100

// Removed compares samples with what a stage made of them. It adds the squares of
// in-out to the first eight lanes of s and the squares of in to the last eight, those
// of sample i to lane (at+i)%8, so that a caller who counts at from a fixed place gets
// the same bits however it cuts the samples up. It returns how many samples of in are
// beyond the ceiling, and whether |in| > by*|out| for one of these. Where one of the
// two is not a number or beyond 1e100, neither is in a sum. It panics if out is shorter
// than in.
func Removed(in, out []float64, ceiling, by float64, at int, s *[16]float64) (beyond int, deep bool) {
	out = out[:len(in)]
	head := min(-at&7, len(in))
	beyond, deep = removedGeneric(in[:head], out[:head], ceiling, by, at, s)
	in, out = in[head:], out[head:]
	n := len(in) &^ 7
	if n > 0 {
		more, deeper := removed(in[:n], out[:n], ceiling, by, s)
		beyond, deep = beyond+more, deep || deeper
	}
	more, deeper := removedGeneric(in[n:], out[n:], ceiling, by, 0, s)
	return beyond + more, deep || deeper
}
