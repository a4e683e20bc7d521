package kernel

import "math"

// A Meeting finds where the polynomial through twelve values of a signal meets a level
// between the middle two.
type Meeting [nodes + 1][12][powers]float64

const (
	nodes  = 16 // from the sixth value to the seventh
	powers = 8
)

// NewMeeting makes one of weights: weights(at)[j][d] is that of value j in the polynomial's
// coefficient of the d-th power of the distance from at, which is counted like j.
func NewMeeting(weights func(at float64) [12][12]float64) *Meeting {
	t := new(Meeting)
	for n := range t {
		for j, row := range weights(5 + float64(float64(n)/nodes)) {
			copy(t[n][j][:], row[:])
		}
	}
	return t
}

// A Crossing is where a polynomial meets a level.
type Crossing struct {
	X          float64 // from the sixth of the values on; between it and the seventh, 0 to 1
	D1, D2, D3 float64 // the derivatives there
	Behind     float64 // how far X is after the node
	Back       float64 // the last step to X, the other way
}

// Find looks for the level in y, of which the middle two values lie on either side, and puts into c what it
// finds.
//
// From where the parabola through four values leads to it takes the coefficients
// about the nearest node, goes to the level by the reversion of the series to the third power,
// and once more from there with all powers. The error is as a fourth power of the last step, and as the
// eighth of the distance from the node.
func (t *Meeting) Find(c *Crossing, y *[12]float64, level float64) { meet(t, y, level, c) }

// Meetings are up to eight places in a signal at which levels are looked for: place i lies between
// the value At[i] and the one after it. (The assembly knows the order of the fields.)
type Meetings struct {
	At    [8]int
	Level [8]float64
	found [6][8]float64 // the fields of a Crossing, of each place
}

// Crossing is what was found at place i.
func (m *Meetings) Crossing(i int) Crossing {
	f := &m.found
	return Crossing{f[0][i], f[1][i], f[2][i], f[3][i], f[4][i], f[5][i]}
}

// FindAll is Find for the first n places of m in x, to the last bit. It panics if n is not 1 to 8, or where
// one of these places does not have five values before it and six after it.
func (t *Meeting) FindAll(m *Meetings, n int, x []float64) {
	for _, at := range m.At[:n] {
		_ = x[at-5 : at+7]
	}
	meet8(t, m, n, x)
}

// meetEach is FindAll, place by place.
func meetEach(t *Meeting, m *Meetings, n int, x []float64) {
	for i, at := range m.At[:n] {
		var c Crossing
		meet(t, (*[12]float64)(x[at-5:]), m.Level[i], &c)
		for k, v := range [6]float64{c.X, c.D1, c.D2, c.D3, c.Behind, c.Back} {
			m.found[k][i] = v
		}
	}
}

// meetGeneric is Find.
//
//choose:asm &t[0][0][0], &y[0], level, (*[6]float64)(unsafe.Pointer(m))
func meetGeneric(t *Meeting, y *[12]float64, level float64, m *Crossing) {
	a := y[5] - level
	r := 1 / (y[5] - y[6])
	x := a * r
	bend := float64(0.25*((y[4]+y[7])-(y[5]+y[6]))) * r
	x = math.FMA(bend, float64(x*(x-1)), x)
	if !(x > 0) {
		x = 0
	}
	if !(x < 1) {
		x = 1
	}
	node := int(float64(x*nodes) + 0.5)

	var even, odd, c [powers]float64
	for j := 0; j < len(y); j += 2 {
		for d := range c {
			even[d] = math.FMA(y[j], t[node][j][d], even[d])
			odd[d] = math.FMA(y[j+1], t[node][j+1][d], odd[d])
		}
	}
	for d := range c {
		c[d] = even[d] + odd[d]
	}

	x = 0 - revert(c[0]-level, c[1], c[2], c[3])
	v, d1, d2, d3 := c[powers-1], 0.0, 0.0, 0.0
	for d := powers - 2; d >= 0; d-- {
		d3 = math.FMA(d3, x, d2)
		d2 = math.FMA(d2, x, d1)
		d1 = math.FMA(d1, x, v)
		v = math.FMA(v, x, c[d])
	}
	back := revert(v-level, d1, d2, d3)
	d4 := float64(float64(5*x)*c[5]) + c[4]
	x -= back
	// Along the last step, in which powers that do not count are left out.
	d1 = math.FMA(-back, math.FMA(-back, float64(3*d3), d2+d2), d1)
	d2 = math.FMA(-back, float64(3*d3), d2)
	d3 = math.FMA(-back, float64(4*d4), d3)
	*m = Crossing{math.FMA(float64(node), 1.0/nodes, x), d1, d2 + d2, float64(6 * d3), x, back}
}

// revert is how far back from 0 the cubic v + c1 x + c2 x^2 + c3 x^3 is 0, to the third power of v
// (the reversion of its series).
func revert(v, c1, c2, c3 float64) float64 {
	r := 1 / c1
	s, a, b := float64(v*r), float64(c2*r), float64(c3*r)
	return float64(s * math.FMA(s, math.FMA(s, math.FMA(a, a+a, -b), a), 1))
}

// AddCorner adds to y[j] the sum over i of w[i]*a[i][j], then w[4+i]*b[i][j], then w[8+i]*c[i][j]. Those of
// even and of odd i are summed apart, so that fewer of the sums wait for each other.
func AddCorner(y *[16]float64, a, b, c *[4][16]float64, w *[12]float64) { addCorner(y, a, b, c, w) }

//choose:asm y, a, b, c, w
func addCornerGeneric(y *[16]float64, a, b, c *[4][16]float64, w *[12]float64) {
	var sums [2][16]float64
	for k, rows := range [3]*[4][16]float64{a, b, c} {
		for i := range rows {
			addScaledGeneric(sums[i%2][:], rows[i][:], w[4*k+i])
		}
	}
	for j := range y {
		y[j] += sums[0][j] + sums[1][j]
	}
}
