//go:build amd64 && !noasm

package kernel

func within(x []float64, limit float64) int {
	n := len(x) &^ 7
	i := 0
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		i = withinAVX512(&x[0], n, limit)
	default:
		i = withinAVX2(&x[0], n, limit)
	}
	if i < n {
		return i
	}
	return n + withinGeneric(x[n:], limit)
}

func taken(in, out []float64, ceiling float64, s *[8]float64) (touched int, cut float64) {
	n := len(in) &^ 7
	switch {
	case n == 0 || !useAVX2:
		return takenGeneric(in, out, ceiling, s)
	case useAVX512:
		touched, cut = takenAVX512(&in[0], &out[0], n, ceiling, squarable, s)
	default:
		touched, cut = takenAVX2(&in[0], &out[0], n, ceiling, squarable, s)
	}
	if n == len(in) {
		return touched, cut
	}
	more, deeper := takenGeneric(in[n:], out[n:], ceiling, s)
	return touched + more, max(cut, deeper)
}

func clamp(x []float64, ceiling float64, s *[8]float64) (touched int, top float64) {
	n := len(x) &^ 7
	switch {
	case n == 0 || !useAVX2:
		return clampGeneric(x, ceiling, s)
	case useAVX512:
		touched, top = clampAVX512(&x[0], n, ceiling, squarable, s)
	default:
		touched, top = clampAVX2(&x[0], n, ceiling, squarable, s)
	}
	if n == len(x) {
		return touched, top
	}
	more, higher := clampGeneric(x[n:], ceiling, s)
	return touched + more, max(top, higher)
}

func quantise(x, noise []float64, scale, step, bottom, top float64) int {
	n := len(x) &^ 7
	switch {
	case n == 0 || !useAVX2:
		return quantiseGeneric(x, noise, scale, step, bottom, top)
	case useAVX512:
		return quantiseAVX512(&x[0], &noise[0], n, scale, step, bottom, top)
	}
	return quantiseAVX2(&x[0], &noise[0], n, scale, step, bottom, top)
}

func triangular(noise []float64, state uint64) {
	n := len(noise) &^ 7
	switch {
	case n == 0 || !useAVX2:
		n = 0
	case useAVX512:
		triangularAVX512(&noise[0], n, state)
	default:
		triangularAVX2(&noise[0], n, state)
	}
	triangularGeneric(noise[n:], state+uint64(n)*RandomStep)
}

func decode24(a, b []float64, src []byte) {
	n := len(a) &^ 3
	if n == 0 || !useAVX2 {
		n = 0
	} else {
		decode24AVX2(&a[0], &b[0], n, &src[0])
	}
	decode24Generic(a[n:], b[n:], src[6*n:])
}

func encode24(dst []byte, a, b []float64) int {
	n := len(a) &^ 3
	if n == 0 || !useAVX2 {
		return encode24Generic(dst, a, b)
	}
	return encode24AVX2(&dst[0], &a[0], &b[0], n)
}
