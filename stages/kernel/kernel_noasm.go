//go:build !amd64 || noasm

package kernel

func filter(f *Filter, y, x []float64) { filterGeneric(f, y, x) }

func zip(y, a, b []float64) { zipGeneric(y, a, b) }

func evens(y, x []float64) { evensGeneric(y, x) }

func addScaled(y, x []float64, a float64) { addScaledGeneric(y, x, a) }

func addScaledRows(y, x []float64, stride int, w *[4]float64) {
	addScaledRowsGeneric(y, x, stride, w)
}

func addScaled16(y, x []float64, w *[16]float64) { addScaled16Generic(y, x, w) }

func combine(c *[12]float64, rows *[12][12]float64, y *[12]float64) { combineGeneric(c, rows, y) }

func meet(t *Meeting, y *[12]float64, level float64, c *Crossing) { meetGeneric(t, y, level, c) }

func meet8(t *Meeting, m *Meetings, n int, x []float64) { meetEach(t, m, n, x) }

func addCorner(y *[16]float64, a, b, c *[4][16]float64, w *[12]float64) {
	addCornerGeneric(y, a, b, c, w)
}

func climb(rows *[20][8]float64, y *[20]float64, top *[4]float64) { climbGeneric(rows, y, top) }

func maxAbs(x []float64) float64 { return maxAbsGeneric(x) }

func peaks(x []float64, at, n int, aim, give float64, mask []uint64) {
	peaksGeneric(x, at, n, aim, give, mask)
}

func beyond(x []float64, at, n int, level float64, over, under, turns []uint64) {
	beyondGeneric(x, at, n, level, over, under, turns)
}

func addBeyond(y, x []float64, level float64) { addBeyondGeneric(y, x, level) }

func nonZero(mask []uint64, x []float64) { nonZeroGeneric(mask, x) }
