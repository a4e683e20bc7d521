//go:build amd64 && !noasm

package kernel

func removed(in, out []float64, ceiling, by float64, s *[16]float64) (beyond int, deep bool) {
	var set uint32
	switch {
	case !useAVX2:
		return removedGeneric(in, out, ceiling, by, 0, s)
	case useAVX512:
		beyond, set = removedAVX512(&in[0], &out[0], len(in), ceiling, by, reckonable, s)
	default:
		beyond, set = removedAVX2(&in[0], &out[0], len(in), ceiling, by, reckonable, s)
	}
	return beyond, set != 0
}
