package spectra

// A Part4 is a stretch of values: those from the first on, in vectors of four.
type Part4 struct{ From, Vectors int }

// Sums sets y[i] to the sum of weights times x over part i, made in four lanes, of which the first and the
// third, and the second and the fourth, are added first. The weights of all parts follow each other. It
// panics if there is a part without vectors, or one that is not in x or has no weights.
func Sums(y, x, weights []float64, parts []Part4) {
	parts = parts[:len(y)]
	used := 0
	for _, p := range parts {
		if p.From < 0 || p.Vectors < 1 || p.From+4*p.Vectors > len(x) {
			panic("spectra: a part outside the values")
		}
		used += 4 * p.Vectors
	}
	weights = weights[:used]
	if len(y) > 0 {
		sums(y, x, weights, parts)
	}
}

//choose:asm2 &y[0], &x[0], &w[0], &parts[0].From, len(y)
func sumsGeneric(y, x, w []float64, parts []Part4) {
	for i, p := range parts {
		var a, b, c, d float64
		x := x[p.From:]
		for range p.Vectors {
			v, u := (*[4]float64)(w), (*[4]float64)(x)
			a += float64(v[0] * u[0])
			b += float64(v[1] * u[1])
			c += float64(v[2] * u[2])
			d += float64(v[3] * u[3])
			w, x = w[4:], x[4:]
		}
		y[i] = (a + c) + (b + d)
	}
}

// Differ tells whether any x[i] is another number than y[i]: 0 and -0 are the same.
func Differ(x, y []float64) bool {
	y = y[:len(x)]
	n := len(x) &^ 15
	if n > 0 && differ(x[:n], y[:n]) {
		return true
	}
	return differGeneric(x[n:], y[n:])
}

//choose:asm2 &x[0], &y[0], len(x)
//choose:as %s != 0
func differGeneric(x, y []float64) bool {
	for i, v := range x {
		if v != y[i] {
			return true
		}
	}
	return false
}
