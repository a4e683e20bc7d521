package bandlimit

import (
	"math"

	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

// A corner is where a signal that was cut off enters or leaves zero: there its
// first, second and third derivatives jump. Sampling the jumps aliases. What
// the samples around a corner owe to the band limit is, for a jump of one in the
// k-th derivative, the band-limited t^k/k! (t > 0) minus the plain one: its
// residual. It is had by integrating a short low-pass kernel, a sinc under a
// Kaiser window that is flat up to the track's pass band and has fallen by
// the frequency that folds back onto its edge; being flat it has no droop,
// unlike the residuals of B-splines (Esqueda, Bilbao and Valimaki, "Aliasing
// Reduction in Clipped Signals", IEEE TSP 64(20), 2016).

const (
	half      = 8   // of the kernel, in samples of the high rate
	fractions = 256 // table rows a sample
	// Spread is how many samples a corner is spread over.
	Spread = 2 * half
)

// Residuals are the tables of the three residuals at one factor. A row holds,
// for a corner that lies a fraction of a sample after a sample, the values of the
// half samples up to that one and the half samples after it.
type Residuals [3][fractions + 4][Spread]float64

// NewResiduals computes the tables for a factor of 2 or more.
func NewResiduals(factor int) *Residuals {
	// The transition of the kernel in cycles a sample, and what the window then rejects
	// (Kaiser's formula, see kaiserBeta).
	width := 1 - 2*passEdge/float64(factor)
	beta := momentless(kaiserBeta(7.95 + float64(14.36*width*Spread)))
	const fine = fractions * 4 // integration steps a sample
	var moments [4]float64
	cumulated := make([][4]float64, Spread*fractions+1)
	// The kernel's density every half step from its middle on: it is even.
	density := make([]float64, 2*half*fine+1)
	window := newKaiserWindow(beta)
	for i := range density {
		t := float64(float64(i) / (2 * fine))
		density[i] = float64(sinc(t) * window.at(t/half))
	}
	for i := range Spread * fine {
		// Simpson's rule over one step.
		a := -half + float64(float64(i)/fine)
		const h = 1.0 / fine
		at := 2*i - 2*half*fine
		qa, qm, qb := density[max(at, -at)], density[max(at+1, -at-1)], density[max(at+2, -at-2)]
		for k := range moments {
			power := func(t float64) float64 { return portable.Whole(t, k) }
			moments[k] += float64(h / 6 * (float64(qa*power(a)) + float64(4*qm*power(a+h/2)) + float64(qb*power(a+h))))
		}
		if (i+1)%(fine/fractions) == 0 {
			cumulated[(i+1)/(fine/fractions)] = moments
		}
	}
	area := moments[0]
	r := new(Residuals)
	for row := range r[0] {
		for j := range Spread {
			// The time of sample j from the corner: sample half-1 lies the fraction before it.
			at := (j-half+1)*fractions - (row - 1)
			for k := range 3 {
				r[k][row][j] = residual(k+1, at, j >= half, cumulated, area)
			}
		}
	}
	return r
}

// momentless is the shape of a Kaiser window near beta at which a kernel has no
// second moment. With one, a residual would not end at the kernel's end after a corner: that of a
// parabola would stay at half the moment and that of a cubic go on rising.
//
// The transform of the window at a frequency of f is sin(s)/s times a constant, s^2 = (2 pi f half)^2 -
// beta^2 (Kaiser; from memory). That of the kernel is its integral over f-1/2..f+1/2, and its second
// derivative at 0, the second moment, vanishes where the window's has an extremum at 1/2: tan s = s.
func momentless(beta float64) float64 {
	const end = math.Pi * half
	s := math.Sqrt(end*end - float64(beta*beta))
	// Newton's method, in half turns, from below the pole of the tangent.
	turn := math.Round(s/math.Pi-0.5) + 0.5
	turn -= 1 / (math.Pi * math.Pi * turn)
	for range 8 {
		s = float64(math.Pi * turn)
		turn -= (1/s - portable.CosPi(turn)/portable.SinPi(turn)) / math.Pi
	}
	return math.Sqrt(end*end - float64(s*s))
}

// residual is that of order k at a time of at/fractions from the corner. The rows at
// either end of a table run past the corner; there a sample stays on its side
// of it, after it or not, so that a row's neighbours join smoothly.
func residual(k, at int, after bool, cumulated [][4]float64, area float64) float64 {
	t := float64(float64(at) / fractions)
	i := at + half*fractions
	if i <= 0 || i >= len(cumulated)-1 {
		return 0
	}
	m := cumulated[i]
	for n := range m {
		m[n] /= area
	}
	smooth, plain := 0.0, 0.0
	if after {
		plain = t
	}
	switch k {
	case 1:
		smooth = float64(t*m[0]) - m[1]
	case 2:
		smooth = float64((float64(t*t*m[0]) - float64(2*t*m[1]) + m[2]) / 2)
		plain = float64(plain * (plain / 2))
	case 3:
		smooth = (float64(t*t*t*m[0]) - float64(3*t*t*m[1]) + float64(3*t*m[2]) - m[3]) / 6
		plain = float64(plain * (plain * plain / 6))
	}
	return smooth - plain
}

// Corner adds to y what the samples around a corner owe: y[half-1] is the sample
// before the corner, which lies a fraction 0..1 of a sample after it, and
// d1, d2 and d3 are the jumps of the derivatives there, per sample.
func (r *Residuals) Corner(y *[Spread]float64, fraction, d1, d2, d3 float64) {
	at := float64(fraction * fractions)
	row := min(int(at), fractions-1)
	c := Cubic(at - float64(row))
	var w [3 * len(c)]float64
	for i, c := range c {
		w[i], w[4+i], w[8+i] = float64(c*d1), float64(c*d2), float64(c*d3)
	}
	rows := func(k int) *[4][Spread]float64 { return (*[4][Spread]float64)(r[k][row:]) }
	kernel.AddCorner(y, rows(0), rows(1), rows(2), &w)
}
