//go:build amd64 && !noasm

package kernel

func removed(in, out []float64, ceiling, by float64, s *[16]float64) (beyond int, deep bool) {
	if !useAVX2 {
		return removedGeneric(in, out, ceiling, by, 0, s)
	}
	before := *s
	beyond, deep = removedBy(in, out, ceiling, by, s, false)
	if mayBeWild((*[8]float64)(s[:8])) {
		*s = before
		return removedBy(in, out, ceiling, by, s, true)
	}
	return beyond, deep
}

func removedBy(in, out []float64, ceiling, by float64, s *[16]float64, wary bool) (beyond int, deep bool) {
	var set uint32
	switch {
	case useAVX512 && wary:
		beyond, set = removedWaryAVX512(&in[0], &out[0], len(in), ceiling, by, reckonable, s)
	case useAVX512:
		beyond, set = removedAVX512(&in[0], &out[0], len(in), ceiling, by, reckonable, s)
	case wary:
		beyond, set = removedWaryAVX2(&in[0], &out[0], len(in), ceiling, by, reckonable, s)
	default:
		beyond, set = removedAVX2(&in[0], &out[0], len(in), ceiling, by, reckonable, s)
	}
	return beyond, set != 0
}

// mayBeWild is whether what was removed may not be reckonable, by the sums of its squares: it is within 1e95
// where they are within the square of that.
func mayBeWild(sums *[8]float64) bool {
	for _, v := range sums {
		if !(v <= 1e190) {
			return true
		}
	}
	return false
}
