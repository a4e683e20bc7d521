//go:build !amd64 || noasm

package kernel

func within(x []float64, limit float64) int { return withinGeneric(x, limit) }

func clamp(x []float64, ceiling float64, s *[8]float64) (int, float64) {
	return clampGeneric(x, ceiling, s)
}

func taken(in, out []float64, ceiling float64, s *[8]float64) (int, float64) {
	return takenGeneric(in, out, ceiling, s)
}

func quantise(x, noise []float64, scale, step, bottom, top float64) int {
	return quantiseGeneric(x, noise, scale, step, bottom, top)
}

func triangular(noise []float64, state uint64) { triangularGeneric(noise, state) }

func decode24(a, b []float64, src []byte) { decode24Generic(a, b, src) }

func encode24(dst []byte, a, b []float64) int { return encode24Generic(dst, a, b) }
