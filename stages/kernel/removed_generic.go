package kernel

import "math"

func removedGeneric(in, out []float64, ceiling, by float64, at int, s *[16]float64) (beyond int, deep bool) {
	for i, x := range in {
		y, size := out[i], math.Abs(x)
		if size > ceiling {
			beyond++
			deep = deep || size > by*math.Abs(y)
		}
		if !(size <= reckonable && math.Abs(y) <= reckonable) {
			continue
		}
		d, lane := x-y, (at+i)&7
		s[lane] = math.FMA(d, d, s[lane])
		s[8+lane] = math.FMA(x, x, s[8+lane])
	}
	return beyond, deep
}
