//go:build !amd64 || noasm

package kernel

func sumPairs(y, x []float64, at int, p *Pairs) { sumPairsGeneric(y, x, at, p) }

func addScaled(y, x []float64, a float64) { addScaledGeneric(y, x, a) }

func addScaledRows(y, x []float64, stride int, w *[4]float64) {
	addScaledRowsGeneric(y, x, stride, w)
}

func combine(c *[12]float64, rows *[12][12]float64, y *[12]float64) { combineGeneric(c, rows, y) }

func maxAbs(x []float64) float64 { return maxAbsGeneric(x) }
