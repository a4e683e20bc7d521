//go:build !amd64 || noasm

package kernel

func removed(in, out []float64, ceiling float64, s *[16]float64) int {
	return removedGeneric(in, out, ceiling, 0, s)
}
