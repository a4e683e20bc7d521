//go:build !amd64 || noasm

package kernel

func removed(in, out []float64, ceiling, by float64, s *[16]float64) (int, bool) {
	return removedGeneric(in, out, ceiling, by, 0, s)
}
