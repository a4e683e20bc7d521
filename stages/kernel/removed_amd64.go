//go:build amd64 && !noasm

package kernel

func removed(in, out []float64, ceiling float64, s *[16]float64) int {
	switch {
	case !useAVX2:
		return removedGeneric(in, out, ceiling, 0, s)
	case useAVX512:
		return removedAVX512(&in[0], &out[0], len(in), ceiling, reckonable, s)
	}
	return removedAVX2(&in[0], &out[0], len(in), ceiling, reckonable, s)
}
