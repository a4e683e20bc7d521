package bandlimit

import (
	"math"

	"ledgerline/stages/kernel"
)

// Orders is how many derivatives may jump at a place that Bends correct.
const Orders = 5

// Bends are residuals (see Residuals) for jumps in any of the first five derivatives. Where a curve bends
// smoothly into another, the jumps lie in higher derivatives than at a corner, and the third is not enough. A
// row is one of Residuals, and the rows of an order follow each other.
type Bends [Orders][(fractions + 4) * Spread]float64

// NewBends computes the tables for a factor of 2 or more.
func NewBends(factor int) *Bends {
	kernel := bendKernel(factor)
	cumulated := kernel.cumulated()
	b := new(Bends)
	for row := range fractions + 4 {
		for j := range Spread {
			at := (j-half+1)*fractions - (row - 1)
			for k := range b {
				b[k][row*Spread+j] = bendResidual(k+1, at, j >= half, cumulated)
			}
		}
	}
	return b
}

// A shape is a kernel as the sum of sincs under Kaiser windows.
type shape [3]struct{ beta, weight float64 }

// bendKernel is that of Residuals, and two like it beside it in such parts that neither the second moment nor
// the fourth is left: a residual would not end at the kernel's end otherwise (see momentless).
func bendKernel(factor int) (s shape) {
	width := 1 - 2*passEdge/float64(factor)
	beta := momentless(kaiserBeta(7.95 + float64(14.36*width*Spread)))
	var m [3][Orders + 1]float64
	for i, by := range [3]float64{0.97, 1, 1.03} {
		s[i].beta, s[i].weight = float64(by*beta), 1
		one := shape{s[i]}
		all := one.cumulated()
		m[i] = all[len(all)-1] // the area of each is 1 but for 1e-8
	}
	// Cramer's rule for weights that add up to 1 and leave no second nor fourth moment.
	cross := func(i, j int) float64 { return float64(m[i][2]*m[j][4]) - float64(m[j][2]*m[i][4]) }
	w := [3]float64{cross(1, 2), cross(2, 0), cross(0, 1)}
	sum := w[0] + w[1] + w[2]
	for i := range s {
		s[i].weight = w[i] / sum
	}
	return s
}

// at is the kernel at a time.
func (s *shape) at(t float64) (v float64) {
	for _, part := range s {
		if part.weight != 0 {
			v += float64(part.weight * WindowedSinc(t, half, part.beta))
		}
	}
	return v
}

// cumulated is the kernel's moments from its start up to each row, divided by its area.
func (s *shape) cumulated() [][Orders + 1]float64 {
	const fine = fractions * 4 // integration steps a sample
	const h = 1.0 / fine
	var moments [Orders + 1]float64
	all := make([][Orders + 1]float64, Spread*fractions+1)
	qb := s.at(-half)
	for i := range Spread * fine {
		// Simpson's rule over one step.
		a := -half + float64(float64(i)/fine)
		qa, qm := qb, s.at(a+h/2)
		qb = s.at(a + h)
		pa, pm, pb := 1.0, 1.0, 1.0
		for k := range moments {
			moments[k] += float64(h / 6 * (float64(qa*pa) + float64(4*qm*pm) + float64(qb*pb)))
			pa, pm, pb = pa*a, pm*(a+h/2), pb*(a+h)
		}
		if (i+1)%(fine/fractions) == 0 {
			all[(i+1)/(fine/fractions)] = moments
		}
	}
	area := moments[0]
	for i := range all {
		for k := range all[i] {
			all[i][k] /= area
		}
	}
	return all
}

// bendResidual is the residual of order k at a time of at/fractions from the place of the jump, see residual.
func bendResidual(k, at int, behind bool, cumulated [][Orders + 1]float64) float64 {
	i := at + half*fractions
	if i <= 0 || i >= len(cumulated)-1 {
		return 0
	}
	// The sum over n of C(k, n) t^(k-n) (-1)^n moment n, over k!; and t^k over k!.
	t, m := float64(at)/fractions, cumulated[i]
	smooth, plain, choose := 0.0, 1.0, 1.0
	for n := range k + 1 {
		smooth = float64(smooth*t) + float64(choose*m[n])
		choose *= -float64(k-n) / float64(n+1)
	}
	for n := 1; n <= k; n++ {
		smooth /= float64(n)
		plain = float64(plain * (t / float64(n)))
	}
	if !behind {
		plain = 0
	}
	return smooth - plain
}

// Add adds to y what the samples around a place owe where the derivatives jump, the first by jumps[0], per
// sample; y[half-1] is the sample before the place, which lies a fraction 0..1 of a sample after it.
func (b *Bends) Add(y *[Spread]float64, fraction float64, jumps *[Orders]float64) {
	at := float64(fraction * fractions)
	row := min(int(at), fractions-1)
	c := Cubic(at - float64(row))
	for k, jump := range jumps {
		if jump == 0 {
			continue
		}
		var w [len(c)]float64
		for i := range w {
			w[i] = float64(c[i] * jump)
		}
		kernel.AddScaledRows(y[:], b[k][row*Spread:], Spread, &w)
	}
}

// Around is how the curve goes on around x: the k-th derivative over k!, for each k.
func (c *Curve) Around(x float64) (s [Orders + 1]float64) {
	for d := points - 1; d >= 0; d-- {
		for k := len(s) - 1; k > 0; k-- {
			s[k] = math.FMA(s[k], x, s[k-1])
		}
		s[0] = math.FMA(s[0], x, c[d])
	}
	return s
}

// Minus is the curve times a less another one times b, a and b being 1 or -1.
func (c *Curve) Minus(other *Curve, a, b float64) (d Curve) {
	for i := range d {
		d[i] = float64(a*c[i]) - float64(b*other[i])
	}
	return d
}
