// Package kernel has the inner loops of the stages.
//
// Each loop exists in Go, always compiled, and as assembly for processors that
// have AVX-512 (F, DQ, VL) or AVX2 with FMA, chosen at run time. All give the same
// bits: products are fused with the sum they go to, in the same order. The build tag
// noasm leaves the assembly out. Package gen writes it.
package kernel

// Group is what the number of values a Filter computes is a multiple of, and that of
// the values of the other kernels but those that add scaled rows.
const Group = 32

// A Filter is an FIR filter.
type Filter struct{ taps []float64 }

// NewFilter returns the filter that makes of x the sums over m of taps[m] * x[i+m]. There is
// a tap or more.
func NewFilter(taps []float64) *Filter { return &Filter{taps} }

// Apply sets y[i] to the sum over m of taps[m] * x[i+m], in the same order for every i:
// the bits of y[i] do not depend on where in x its values lie. The taps in whole eights make two sums,
// of those for which m/8 is even and of those for which it is odd, each in the order of m%8, then of m. The
// taps after the eights go to the first sum, and the second is added to that. The length of y is a
// multiple of Group. It panics unless x is as long as y and the taps together, less one.
func (f *Filter) Apply(y, x []float64) {
	wholeGroups(y)
	if len(y) > 0 {
		filter(f, y, x[:len(y)+len(f.taps)-1])
	}
}

// Zip sets y[2i] to a[i] and y[2i+1] to b[i]. The length of a is a multiple of Group.
func Zip(y, a, b []float64) {
	wholeGroups(a)
	if len(a) > 0 {
		zip(y[:2*len(a)], a, b[:len(a)])
	}
}

// Evens sets y[i] to x[2i]. It panics if x is shorter than twice y.
func Evens(y, x []float64) { evens(y, x[:2*len(y)]) }

// AddScaled adds a*x[i] to y[i]. It panics if y is shorter than x.
func AddScaled(y, x []float64, a float64) { addScaled(y[:len(x)], x, a) }

// AddScaledRows adds w[0]*x[i], w[1]*x[stride+i], w[2]*x[2*stride+i] and
// w[3]*x[3*stride+i] to y[i] in that order, for each i. It panics if x is shorter than three
// strides and y.
func AddScaledRows(y, x []float64, stride int, w *[4]float64) {
	addScaledRows(y, x[:3*stride+len(y)], stride, w)
}

// AddScaled16 adds w[k]*x[16*8*v + 8*k + i] to y[8*v+i] for each k < 16, in their order: x
// has sixteen rows, eight values of each in turn. The length of y is a multiple of 8, and it panics
// if x does not have sixteen times as many.
func AddScaled16(y, x []float64, w *[16]float64) {
	if len(y)%8 != 0 {
		panic("kernel: length is not a multiple of 8")
	}
	if len(y) > 0 {
		addScaled16(y, x[:16*len(y)], w)
	}
}

// Combine sets c[d] to the sum over j of rows[j][d] * y[j], adding in the order of j.
func Combine(c *[12]float64, rows *[12][12]float64, y *[12]float64) { combine(c, rows, y) }

// MaxAbs is the largest magnitude in x, 0 if it is empty. NaN is passed over.
func MaxAbs(x []float64) float64 { return maxAbs(x) }

// Peaks sets bit i%64 of word i/64 of the mask for each of the n values x[at+i] next to which a peak of
// either sign may pass the aim. Of the values a, b and d at at+i-1, at+i and at+i+1, with the sign that makes
// b positive, b is then the largest, the last of equal ones, and with bow = (b-a) + (b-d)
//
//	b + (a-d)^2 / (4 bow) + give * bow > aim.
//
// The parabola through the three rises half as far above b, (a-d)^2 / (8 bow); a tone at the edge of
// the band, where there are two values a frame, 1.66 times as far as its parabola. n is a multiple
// of Group. It panics unless x has a value to either side of these, and the mask n bits.
func Peaks(x []float64, at, n int, aim, give float64, mask []uint64) {
	_, _ = x[at-1:at+n+1], mask[:(n+63)/64]
	wholeGroups(x[at : at+n])
	peaks(x, at, n, aim, give, mask)
}

// Beyond sets bit i%64 of word i/64 of three masks for each of the n values x[at+i]:
// of over where it is more than level, of under where it is less than -level, and of
// turns where x[at+i-1] is an extremum whose curve may lie on the other side of the
// level than it does. Of the distances a, b and d from the level of the values at at+i-2, at+i-1 and
// at+i, with the sign that makes the middle one's value positive, that is
//
//	b <= 0, b > a, b >= d and b - bend/4 > 0, or
//	b > 0, b < a, b <= d and b - bend/4 <= 0,
//
// where bend = (a-b) + (d-b). n is a multiple of Group. It panics unless x has two values before at, and
// the masks n bits.
func Beyond(x []float64, at, n int, level float64, over, under, turns []uint64) {
	_, words := x[at-2:at+n], (n+63)/64
	_, _, _ = over[:words], under[:words], turns[:words]
	wholeGroups(x[at : at+n])
	beyond(x, at, n, level, over, under, turns)
}

// AddBeyond adds to y[i] what x[i] is beyond the level, with its sign. The length of x is a
// multiple of Group.
func AddBeyond(y, x []float64, level float64) {
	wholeGroups(x)
	if len(x) > 0 {
		addBeyond(y[:len(x)], x, level)
	}
}

// NonZero sets bit i%64 of word i/64 of the mask where x[i] is not 0. The length of x is a
// multiple of Group.
func NonZero(mask []uint64, x []float64) {
	wholeGroups(x)
	_ = mask[:(len(x)+63)/64]
	if len(x) > 0 {
		nonZero(mask, x)
	}
}

func wholeGroups(x []float64) {
	if len(x)%Group != 0 {
		panic("kernel: length is not a multiple of Group")
	}
}
