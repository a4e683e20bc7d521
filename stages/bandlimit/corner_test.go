package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// polynomial is a polynomial of degree 11 by its coefficients, and derive its derivative.
type polynomial []float64

func (p polynomial) at(x float64) float64 {
	v := 0.0
	for d := len(p) - 1; d >= 0; d-- {
		v = v*x + p[d]
	}
	return v
}

func (p polynomial) derive() polynomial {
	var q polynomial
	for d, c := range p[1:] {
		q = append(q, float64(d+1)*c)
	}
	return q
}

const here = 101 // the value before the middle of those of around

// around gives a rate with 12 values at -5.5, -4.5, ... 5.5, and through the curve between
// the middle two.
func around(f func(x float64) float64) *Rate {
	r := NewInterpolator(2, Clean, 8192).At(2)
	for j := range points {
		r.Values()[here-points/2+1+j] = f(float64(j) - (points-1)/2.0)
	}
	return r
}

func through(f func(x float64) float64) Curve { return around(f).Curve(here) }

// Through 12 points there is one polynomial of degree 11, so that the local one
// is any such polynomial itself.
func TestCurveIsExactOnPolynomials(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 11))
	for degree := range points {
		for range 20 {
			p := make(polynomial, degree+1)
			for d := range p {
				p[d] = (2*random.Float64() - 1) * math.Pow(5.5, -float64(d))
			}
			c := through(p.at)
			for _, x := range []float64{-0.5, -0.2, 0, 0.3, 0.5} {
				v, d1, d2, d3 := c.At(x)
				want := [4]float64{p.at(x)}
				q := append(p, 0, 0, 0)
				for k := 1; k < 4; k++ {
					q = q.derive()
					want[k] = q.at(x)
				}
				for k, got := range [4]float64{v, d1, d2, d3} {
					if math.Abs(got-want[k]) > 1e-13 {
						t.Fatalf("degree %d, derivative %d at %v: %v, want %v", degree, k, x, got, want[k])
					}
				}
			}
		}
	}
}

// Of a tone at a quarter of the rate at hand and lower the curve makes an error
// of its twelfth derivative at most: 1/12! times the product of the distances (Lagrange's
// remainder; from memory), which between the middle points is 5.5^2 4.5^2 ... 0.5^2 at most.
func TestCurveOfTones(t *testing.T) {
	remainder := 1.0
	for d := 0.5; d < 6; d++ {
		remainder *= d * d
	}
	remainder /= math.Gamma(points + 1)
	for _, turn := range []float64{0.01, 0.1, 0.5, 1, math.Pi / 2} {
		for phase := 0.0; phase < 6; phase += 0.1 {
			c := through(func(x float64) float64 { return math.Sin(turn*x + phase) })
			for x := -0.5; x <= 0.5; x += 0.1 {
				v, _, _, _ := c.At(x)
				limit := remainder*math.Pow(turn, points) + 1e-15
				if d := math.Abs(v - math.Sin(turn*x+phase)); d > limit {
					t.Fatalf("%v radians a sample, phase %v: off by %v at %v, limit %v", turn, phase, d, x, limit)
				}
			}
		}
	}
}

// Where a curve crosses a level is known where it has an inverse.
func TestCross(t *testing.T) {
	for _, c := range []struct {
		name        string
		curve       Curve
		level, a, b float64
		rising      bool
		want, off   float64
	}{
		{"a line", Curve{1, 2}, 1.25, -0.5, 0.5, true, 0.125, 1e-13},
		{"a falling line", Curve{1, -2}, 1.25, -0.5, 0.5, false, -0.125, 1e-13},
		{"at its first end", Curve{0, 1}, -0.5, -0.5, 0.5, true, -0.5, 1e-13},
		{"at its last end", Curve{0, 1}, 0.5, -0.5, 0.5, true, 0.5, 1e-13},
		{"a parabola, rising", Curve{0, 0, -1}, -0.04, -0.5, 0, true, -0.2, 1e-13},
		{"a parabola, falling", Curve{0, 0, -1}, -0.04, 0, 0.5, false, 0.2, 1e-13},
		// Here the slope at the level is next to nothing, and a step of Newton's from elsewhere is wild.
		{"a parabola that grazes", Curve{0, 0, -1}, -1e-20, 0, 0.5, false, 1e-10, 1e-12},
		{"a parabola that grazes, from the left", Curve{0, 0, -1}, -1e-20, -0.5, 0, true, -1e-10, 1e-12},
		{"flat where it crosses", Curve{0, 0, 0, 1}, 0, -0.5, 0.4, true, 0, 1e-11},
		{"nearly a step", Curve{0, 1e-9, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1e6}, 0, -0.5, 0.4, true, 0, 1e-9},
	} {
		if got := c.curve.Cross(c.level, c.a, c.b, c.rising); !(math.Abs(got-c.want) <= c.off) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Whatever the curve, what comes back lies within the bracket, and the curve
// crosses the level there.
func TestCrossAndExtremumOfAnyCurve(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 12))
	crossed, turned := 0, 0
	for range 20000 {
		var c Curve
		scale := math.Pow(10, 6*random.Float64()-3)
		for d := range c {
			c[d] = scale * random.NormFloat64() * math.Pow(2, -float64(d)*random.Float64())
		}
		va, _, _, _ := c.At(-0.5)
		vb, _, _, _ := c.At(0.5)
		level := va + (vb-va)*random.Float64()
		x := c.Cross(level, -0.5, 0.5, va < vb)
		v, slope, _, _ := c.At(x)
		if !(x >= -0.5 && x <= 0.5) || math.Abs(v-level) > 1e-12*(scale*20+math.Abs(slope)) {
			t.Fatalf("%v: crosses %v at %v, where it is %v", c, level, x, v)
		}
		crossed++
		if x, ok := c.Extremum(-0.5, 0.5); ok {
			_, slope, bend, _ := c.At(x)
			if !(x >= -0.5 && x <= 0.5) || math.Abs(slope) > 1e-12*(scale*100+math.Abs(bend)) {
				t.Fatalf("%v: turns at %v, where its slope is %v", c, x, slope)
			}
			turned++
		}
	}
	if crossed < 1000 || turned < 1000 {
		t.Errorf("%d crossed, %d turned: too few to tell", crossed, turned)
	}
}

// A tone crosses any level where its inverse says, with its own derivatives: of a slow one
// the curve's error is lost in rounding.
func TestCrossOfTones(t *testing.T) {
	for _, turn := range []float64{0.01, 0.03, 0.1} {
		for _, at := range []float64{-0.4999, -0.47, -0.3, -1.0 / 32, 0, 0.2, 0.4, 0.4999} {
			for phase := 0.0; phase < 6.2; phase += long.Or(0.3, 0.1) {
				f := func(x float64) float64 { return math.Sin(turn*(x-at) + phase) }
				level, slope := math.Sin(phase), turn*math.Cos(phase)
				if (f(-0.5) < level) == (f(0.5) < level) {
					continue // it turns between the two
				}
				x, d1, d2, d3 := around(f).Cross(here, level, slope > 0)
				// Rounding is seen over the slope, and over a step of a value, or near it, for the derivatives.
				for k, off := range [4]float64{(x - at) * slope / 1e-15, (d1 - slope) / 1e-13,
					(d2 + turn*turn*level) / 1e-12, (d3 + turn*turn*slope) / 1e-11} {
					if !(math.Abs(off) < 10) {
						t.Fatalf("%v radians a value, phase %v at %v: order %d is off by %v times what it may be", turn, phase,
							at, k, off)
					}
				}
			}
		}
	}
}

// Whatever the values, the crossing lies between the two, on the curve and the level, in the asked direction.
func TestCrossOfAnyValues(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 12))
	for range long.Or(500, 2000) {
		scale := math.Pow(10, 6*random.Float64()-3)
		r := around(func(float64) float64 { return scale * random.NormFloat64() })
		a, b := r.Values()[here], r.Values()[here+1]
		level := a + (b-a)*random.Float64()
		x, d1, d2, d3 := r.Cross(here, level, a < b)
		c := r.Curve(here)
		v, e1, e2, e3 := c.At(x)
		if !(x >= -0.5 && x <= 0.5) || math.Abs(v-level) > 1e-11*scale {
			t.Fatalf("%v: crosses %v at %v, where it is %v", c, level, x, v)
		}
		for k, off := range [3]float64{(d1 - e1) / 1e-9, (d2 - e2) / 1e-6, (d3 - e3) / 1e-4} {
			if math.Abs(off) > 10*scale {
				t.Fatalf("%v at %v: derivative %d of %v, %v, %v is off by %v of what it may be", c, x, k+1, d1,
					d2, d3, off)
			}
		}
	}
}

// Corners looked for together are those looked for one by one, to the last bit.
func TestMeet(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 13))
	for n := range 20 {
		r := around(func(float64) float64 { return random.NormFloat64() })
		u := r.Values()
		corners := make([]Corner, n)
		for i := range corners {
			m := here + random.IntN(5) - 2
			corners[i] = Corner{At: m, Level: u[m] + (u[m+1]-u[m])*random.Float64(), Rising: u[m] < u[m+1]}
		}
		r.Meet(corners)
		for _, c := range corners {
			x, d1, d2, d3 := r.Cross(c.At, c.Level, c.Rising)
			if c.X != x || c.D1 != d1 || c.D2 != d2 || c.D3 != d3 {
				t.Fatalf("of %d, %+v: alone it crosses at %v with %v, %v and %v", n, c, x, d1, d2, d3)
			}
		}
	}
}

func TestExtremum(t *testing.T) {
	for _, c := range []struct {
		name  string
		curve Curve
		want  float64
		ok    bool
	}{
		{"a hill", Curve{1, 0.4, -1}, 0.2, true},
		{"a valley", Curve{1, 0.4, 1}, -0.2, true},
		{"a hill at the end", Curve{1, 1, -1}, 0, false},
		{"a slope", Curve{1, 1}, 0, false},
		{"a flat", Curve{1}, 0, false},
		{"a saddle", Curve{0, 0, 0, 1}, 0, false},
		{"a flat top", Curve{1, 0, 0, 0, -1}, 0, true},
	} {
		got, ok := c.curve.Extremum(-0.5, 0.5)
		if ok != c.ok || ok && math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%s: %v, %v, want %v, %v", c.name, got, ok, c.want, c.ok)
		}
	}
}

// What is not a number, or is infinite, must not keep a root finder for ever
// nor take it out of its bracket.
func TestRootFindersOfWhatIsNoNumber(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []Curve{
		{nan}, {0, nan}, {inf}, {0, inf}, {-inf, inf}, {0, 0, nan, 1}, {1e300, 1e300, -1e300}, {},
	} {
		for _, level := range []float64{0, 1, nan, inf} {
			if x := c.Cross(level, -0.5, 0.5, true); !(x >= -0.5 && x <= 0.5) {
				t.Errorf("%v crosses %v at %v", c, level, x)
			}
		}
		for _, level := range []float64{1, nan} {
			if x, _, _, _ := around(polynomial(c[:]).at).Cross(here, level, true); !(x >= -0.5 && x <= 0.5) {
				t.Errorf("%v crosses %v at %v", c, level, x)
			}
		}
		if x, ok := c.Extremum(-0.5, 0.5); ok && !(x >= -0.5 && x <= 0.5) {
			t.Errorf("%v turns at %v", c, x)
		}
	}
}

// Lagrange's cubic is exact on cubics, and its weights at a point are that point.
func TestCubic(t *testing.T) {
	p := polynomial{0.3, -1.2, 0.7, 2.5}
	for x := 0.0; x <= 1; x += 0.125 {
		got := 0.0
		for i, w := range Cubic(x) {
			got += w * p.at(float64(i-1))
		}
		if math.Abs(got-p.at(x)) > 1e-14 {
			t.Errorf("at %v: %v, want %v", x, got, p.at(x))
		}
	}
	if Cubic(0) != [4]float64{0, 1, 0, 0} || Cubic(1) != [4]float64{0, 0, 1, 0} {
		t.Errorf("weights at the points: %v, %v", Cubic(0), Cubic(1))
	}
}
