package spectra

import "math"

// Squares sets y[i] to a[i]^2 + b[i]^2.
func Squares(y, a, b []float64) {
	a, b = a[:len(y)], b[:len(y)]
	squares(y, a, b)
}

//choose:asm2 &y[0], &a[0], &b[0], n
//choose:whole 4 y
//choose:rest y[n:], a[n:], b[n:]
func squaresGeneric(y, a, b []float64) {
	for i := range y {
		y[i] = float64(a[i]*a[i]) + float64(b[i]*b[i])
	}
}

// Roots sets y[i] to the square of the difference of the roots of a[i] and b[i].
func Roots(y, a, b []float64) {
	a, b = a[:len(y)], b[:len(y)]
	roots(y, a, b)
}

//choose:asm2 &y[0], &a[0], &b[0], n
//choose:whole 4 y
//choose:rest y[n:], a[n:], b[n:]
func rootsGeneric(y, a, b []float64) {
	for i := range y {
		d := math.Sqrt(a[i]) - math.Sqrt(b[i])
		y[i] = d * d
	}
}

// Raise sets y[i] to x[i]^2 times the root of x[i], that is x[i]^2.5.
func Raise(y, x []float64) {
	x = x[:len(y)]
	raise(y, x)
}

//choose:asm2 &y[0], &x[0], n
//choose:whole 4 y
//choose:rest y[n:], x[n:]
func raiseGeneric(y, x []float64) {
	for i := range y {
		y[i] = x[i] * x[i] * math.Sqrt(x[i])
	}
}

// Exp sets y[i] to e^x[i], of numbers within 700 of 0, within two units in the last place. What lies beyond
// counts as 700.
func Exp(y, x []float64) {
	x = x[:len(y)]
	exp(y, x)
}

//choose:asm2 &y[0], &x[0], n
//choose:whole 4 y
//choose:rest y[n:], x[n:]
func expGeneric(y, x []float64) {
	for i := range y {
		y[i] = expOf(x[i])
	}
}

// Log sets y[i] to the natural logarithm of x[i], of normal numbers above 0, within two units in the last
// place, or of 1e-16 near 1.
func Log(y, x []float64) {
	x = x[:len(y)]
	log(y, x)
}

//choose:asm2 &y[0], &x[0], n
//choose:whole 4 y
//choose:rest y[n:], x[n:]
func logGeneric(y, x []float64) {
	for i := range y {
		y[i] = logOf(x[i])
	}
}

const (
	ln2High = math.Ln2
	ln2Low  = 2.3190468138462996e-17 // ln 2 less that
)

// expOf is 2^n e^r, r being within ln 2 / 2 of zero: e^r = 1 + r + ... + r^13/13!, what follows is below
// 4e-18.
func expOf(x float64) float64 {
	x = max(-700, min(700, x))
	n := math.RoundToEven(x * (1 / math.Ln2))
	r := math.FMA(-ln2Low, n, math.FMA(-ln2High, n, x))
	sum := expSeries[13]
	for k := 12; k >= 0; k-- {
		sum = math.FMA(sum, r, expSeries[k])
	}
	return math.Float64frombits(math.Float64bits(sum) + uint64(int64(n))<<52)
}

var expSeries = func() (c [14]float64) {
	factorial := 1.0
	for k := range c {
		if k > 0 {
			factorial *= float64(k)
		}
		c[k] = 1 / factorial
	}
	return c
}()

// logOf is e ln 2 + ln m, where x = m 2^e and m lies around 1, and ln m = 2 (s + s^3/3 + ... + s^23/23), s =
// (m-1)/(m+1) (Abramowitz and Stegun, 4.1.27; from memory). What follows is below 1e-18.
func logOf(x float64) float64 {
	const root = 0x3fe6a09e667f3bcd // bits of the root of a half
	bits := math.Float64bits(x) + (0x3ff0000000000000 - root)
	e := float64(int64(bits>>52) - 1023)
	m := math.Float64frombits(bits&(1<<52-1) + root)
	s := (m - 1) / (m + 1)
	z := s * s
	sum := 1.0 / 23
	for k := range logSeries {
		sum = math.FMA(sum, z, logSeries[k])
	}
	s *= 2
	return math.FMA(e, ln2High, math.FMA(e, ln2Low, s*z*sum)+s)
}

var logSeries = [...]float64{
	1.0 / 21, 1.0 / 19, 1.0 / 17, 1.0 / 15, 1.0 / 13, 1.0 / 11, 1.0 / 9, 1.0 / 7, 1.0 / 5, 1.0 / 3,
}
