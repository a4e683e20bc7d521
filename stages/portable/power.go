package portable

import "math"

// Logarithms as sums of two numbers. The high parts of ln 2 and log10 2 end early, so that their products
// with an exponent are exact.
const (
	ln10High    = 2.302585092994046
	ln10Low     = -2.1707562233822494e-16
	ln2High     = 0.6931471803691238
	ln2Low      = 1.9082149292705877e-10
	log10of2    = 0.30102999566361177
	log10of2Low = 3.694239077158931e-13
	log10ofE    = 0.4342944819032518
	log10ofELow = 1.098319650216765e-17
)

// Exp is e^x: +Inf beyond the largest number, 0 below the smallest.
func Exp(x float64) float64 { return exp(x, 0) }

// Exp10 is 10^x. It is exact for whole x from 0 to 22, and the nearest number to the reciprocal of one for
// -22 to -1.
func Exp10(x float64) float64 {
	if math.Abs(x) <= 22 && x == math.Trunc(x) {
		return tenTo(int(x))
	}
	y := float64(x * ln10High) // so that no sum is fused with it
	return exp(y, math.FMA(x, ln10Low, math.FMA(x, ln10High, -y)))
}

func tenTo(n int) float64 {
	p := 1.0
	for range max(n, -n) {
		p *= 10
	}
	if n < 0 {
		return 1 / p
	}
	return p
}

// exp is e^(x+low), low being far smaller than x: 2^n e^r, where r is within ln 2 / 2 of zero.
func exp(x, low float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 710:
		return math.Inf(1)
	case x < -746:
		return 0
	}
	n := math.Round(x / (ln2High + ln2Low))
	r := math.FMA(-n, ln2High, x)
	low = math.FMA(-n, ln2Low, low)
	r, low = r+low, low-((r+low)-r)
	// e^r = 1 + r + r^2/2! + ... + r^13/13!: what follows is below 4e-18.
	sum := 1.0 / 6227020800
	for _, c := range [...]float64{
		1.0 / 479001600, 1.0 / 39916800, 1.0 / 3628800, 1.0 / 362880, 1.0 / 40320, 1.0 / 5040, 1.0 / 720,
		1.0 / 120, 1.0 / 24, 1.0 / 6, 1.0 / 2,
	} {
		sum = math.FMA(sum, r, c)
	}
	return math.Ldexp(1+(r+math.FMA(r*r, sum, low)), int(n))
}

// Log is the natural logarithm of x: -Inf of 0, NaN below.
func Log(x float64) float64 {
	high, low, e, ok := log(x)
	if !ok {
		return high
	}
	return math.FMA(e, ln2High, high+math.FMA(e, ln2Low, low))
}

// Log10 is the logarithm of x to base 10: -Inf of 0, NaN below.
func Log10(x float64) float64 {
	high, low, e, ok := log(x)
	if !ok {
		return high
	}
	p := float64(high * log10ofE) // so that no sum is fused with it
	low = math.FMA(low, log10ofE, math.FMA(high, log10ofELow, math.FMA(high, log10ofE, -p)))
	return math.FMA(e, log10of2, p+math.FMA(e, log10of2Low, low))
}

// log is ln m as a sum of two numbers, and e, where x = m 2^e and m lies around 1. It is not ok where the
// logarithm is no finite number; then that is high.
//
// ln m = 2 (s + s^3/3 + s^5/5 + ...), s = (m-1)/(m+1) (Abramowitz and Stegun, 4.1.27; from memory).
func log(x float64) (high, low, e float64, ok bool) {
	switch {
	case math.IsNaN(x) || x < 0:
		return math.NaN(), 0, 0, false
	case x == 0:
		return math.Inf(-1), 0, 0, false
	case math.IsInf(x, 1):
		return x, 0, 0, false
	}
	m, exponent := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m, exponent = 2*m, exponent-1
	}
	f := m - 1
	d := m + 1
	s := f / d
	rest := math.FMA(-s, m-(d-1), math.FMA(-s, d, f)) / d
	z := s * s
	sum := 1.0 / 25
	for k := 23.0; k >= 3; k -= 2 {
		sum = math.FMA(sum, z, 1/k)
	}
	low = 2 * math.FMA(s*z, sum, rest)
	high = float64(2 * s)
	return high, low, float64(exponent), true
}

// Whole is x^n, made of products in a fixed order.
func Whole(x float64, n int) float64 {
	p := 1.0
	for range n {
		p *= x
	}
	return p
}
