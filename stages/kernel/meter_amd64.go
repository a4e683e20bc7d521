//go:build amd64 && !noasm

package kernel

func weigh(x, y []float64, w *Weighing, s *States, e *[8]float64) {
	switch {
	case !useAVX2:
		weighGeneric(x, y, w, s, e)
	case useAVX512:
		weighAVX512(&x[0], &y[0], len(x), &w.outs[0][0], (*[8]float64)(s), e)
	default:
		weighAVX2(&x[0], &y[0], len(x), &w.outs[0][0], (*[8]float64)(s), e)
	}
}

func scan(x, peaks, bends []float64, s *[16]float64) {
	switch {
	case !useAVX2:
		scanGeneric(x, peaks, bends, s)
	case useAVX512:
		scanAVX512(&x[2], &peaks[0], &bends[0], len(peaks), s)
	default:
		scanAVX2(&x[2], &peaks[0], &bends[0], len(peaks), s)
	}
}

func edge(x *[EdgeTaps - 1 + Cell]float64, taps *[EdgeTaps]float64) float64 {
	switch {
	case !useAVX2:
		return edgeGeneric(x, taps)
	case useAVX512:
		return edgeAVX512(x, taps)
	}
	return edgeAVX2(x, taps)
}

func mayPass(u *[19]float64, e *Eighths, limit float64) uint8 {
	switch {
	case !useAVX2:
		return mayPassGeneric(u, e, limit)
	case useAVX512:
		return uint8(mayPassAVX512(u, &e.Even[0], limit))
	}
	return uint8(mayPassAVX2(u, &e.Even[0], limit))
}

func above(x *[32]float64, limit float64) uint32 {
	switch {
	case !useAVX2:
		return aboveGeneric(x, limit)
	case useAVX512:
		return aboveAVX512(x, limit)
	}
	return aboveAVX2(x, limit)
}
