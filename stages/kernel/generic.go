package kernel

import "math"

func sumPairsGeneric(y, x []float64, at int, p *Pairs) {
	sums := (*[Tile]float64)(y)
	*sums = [Tile]float64{}
	for k, h := range p.taps {
		l, r := (*[Tile]float64)(x[at+p.left[k]:]), (*[Tile]float64)(x[at+p.right[k]:])
		for i := range sums {
			sums[i] = math.FMA(h, l[i]+r[i], sums[i])
		}
	}
}

func addScaledGeneric(y, x []float64, a float64) {
	for i, v := range x {
		y[i] = math.FMA(a, v, y[i])
	}
}

func addScaledRowsGeneric(y, x []float64, stride int, w *[4]float64) {
	for k, a := range w {
		addScaledGeneric(y, x[k*stride:][:len(y)], a)
	}
}

func combineGeneric(c *[12]float64, rows *[12][12]float64, y *[12]float64) {
	*c = [12]float64{}
	for j, v := range y {
		for d, w := range &rows[j] {
			c[d] = math.FMA(w, v, c[d])
		}
	}
}

func maxAbsGeneric(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		if v < 0 {
			v = -v
		}
		if v > m {
			m = v
		}
	}
	return m
}
