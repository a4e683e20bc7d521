package stages

import "ledgerline/stages/bandlimit"

// A series is how a signal goes on around a moment: coefficients of the powers of time, from the 0th. What
// lies beyond the last is left out.
type series [bandlimit.Orders + 1]float64

// times is the product of two.
func (a series) times(b series) (p series) {
	for i := range a {
		for j := range len(b) - i {
			p[i+j] += float64(a[i] * b[j])
		}
	}
	return p
}

// over is the quotient. The first coefficient of the divisor is not 0.
func (a series) over(b series) (q series) {
	for i := range a {
		v := a[i]
		for j := range i {
			v -= float64(q[j] * b[i-j])
		}
		q[i] = v / b[0]
	}
	return q
}

// minus is the difference.
func (a series) minus(b series) series {
	for i := range a {
		a[i] -= b[i]
	}
	return a
}

// scaled is a times a number.
func (a series) scaled(by float64) series {
	for i := range a {
		a[i] = float64(a[i] * by)
	}
	return a
}
