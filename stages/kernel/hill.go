package kernel

import "math"

// HillTerms is how many coefficients a hill's polynomial has, and hillPairs of how many pairs of values it
// is.
const (
	HillTerms = 12
	hillPairs = 11
	hills     = 4 // in lanes
)

// A HillTable has the weights of the pairs of values to either side of a place in the coefficients of a
// polynomial around it, the closest pair first: in turn that of their difference, the later less the earlier
// one, in the coefficient of an odd power, and that of their sum in that of the even power before it.
type HillTable = [hillPairs][HillTerms]float64

// HillWeights are the weights of a pair of which those in the coefficients of the powers are given.
func HillWeights(c *[HillTerms]float64) (w [HillTerms]float64) {
	for i := range w {
		w[i] = c[i^1]
	}
	return w
}

// Hills are four polynomials, each around a place near a peak. (The assembly knows the order of the fields.)
type Hills struct {
	C [HillTerms][hills]float64 // the coefficients of the powers of x

	X      [hills]float64 // of the peak
	Height [hills]float64
	Bend   [hills]float64 // half of the second derivative next to it
	Step   [hills]float64 // the last step of the parabola's that led to it

	Level [hills]float64 // without the peak's sign
	// Down is how far before and after the peak the hill has fallen to the level, 0 if it has not within
	// hillPlaces strides. Rises is by how much the highest of the places there that is higher than the one
	// before it, seen from the peak, is above the level.
	Down, Rises [2][hills]float64
}

// Find makes the polynomials around places in the values y, counted in halves of a value, and finds the peak
// near each: from the place to where the polynomial's slope is zero by the reversion of its series to the
// second power, and again from there until the parabola's step is shorter than HillStep, hillClimbs times at
// most. The error is as the third power of the last step.
func (h *Hills) Find(tables *[2]HillTable, y []float64, places *[hills]int) {
	for _, at := range places {
		_ = y[at>>1-hillPairs+1 : at>>1+hillPairs+1]
	}
	hillFind(y, tables, places, h)
}

// Descend finds where each hill falls to its level, before its peak and after it: first which of some places
// is below the level, then, between that and the place before it, by Newton's method within bounds.
func (h *Hills) Descend() { descend(h) }

// Value is the polynomial of hill i at x.
func (h *Hills) Value(i int, x float64) float64 {
	v := h.C[HillTerms-1][i]
	for d := HillTerms - 2; d >= 0; d-- {
		v = math.FMA(v, x, h.C[d][i])
	}
	return v
}

// hillFindGeneric is Find.
//
//choose:asm2 &y[0], tables, places, (*[84]float64)(unsafe.Pointer(h))
func hillFindGeneric(y []float64, tables *[2]HillTable, places *[hills]int, h *Hills) {
	for i, at := range places {
		n, half := at>>1, at&1
		var c [HillTerms]float64
		for k := range hillPairs {
			w := &tables[half][k]
			after, before := y[n+half+k], y[n-k]
			difference, sum := after-before, after+before
			for j := 0; j < HillTerms; j += 2 {
				c[j], c[j+1] = math.FMA(difference, w[j], c[j]), math.FMA(sum, w[j+1], c[j+1])
			}
		}
		for j, v := range c {
			h.C[j^1][i] = v
		}
		h.top(i)
	}
}

const (
	hillReach  = 0.5 // how far from its place a peak is looked for
	hillClimbs = 4   // from a place to the next, at most
	// HillStep is the length of a parabola's step below which a climb ends.
	HillStep = 3e-4
)

func (h *Hills) top(i int) {
	x, _ := backTo(h.C[1][i], h.C[2][i], h.C[3][i])
	x = 0 - x
	for range hillClimbs {
		x = lesser(greater(x, -hillReach), hillReach)
		// The value, and the k-th derivatives over k!.
		v, d1, d2, d3 := h.C[HillTerms-1][i], 0.0, 0.0, 0.0
		for d := HillTerms - 2; d >= 0; d-- {
			d3 = follow(d3, x, d2, HillTerms-1-d == 3)
			d2 = follow(d2, x, d1, HillTerms-1-d == 2)
			d1 = follow(d1, x, v, HillTerms-1-d == 1)
			v = math.FMA(v, x, h.C[d][i])
		}
		back, step := backTo(d1, d2, d3)
		x -= back
		h.X[i], h.Bend[i], h.Step[i] = x, d2, step
		h.Height[i] = math.FMA(-back, math.FMA(-back, math.FMA(-back, d3, d2), d1), v)
		if math.Abs(step) < HillStep {
			return
		}
	}
}

// backTo is how far before a place the slope is zero that has a value of d1 and derivatives of 2*d2 and 6*d3,
// and step how far before it the parabola's is. Far from a peak the one may be 0 by chance.
func backTo(d1, d2, d3 float64) (back, step float64) {
	r := 0.5 / d2
	step = float64(d1 * r)
	return math.FMA(float64(step*step), float64(float64(3*r)*d3), step), step
}

// greater and lesser are b if either is no number.
func greater(a, b float64) float64 {
	if a > b {
		return a
	}
	return b
}

func lesser(a, b float64) float64 {
	if a < b {
		return a
	}
	return b
}

const (
	seekPlaces = 13 // at which the slope is looked at, the middle one at the hill's place
	seekStride = 0.125
	seekTurns  = 60    // of the search between two of them, at most
	seekNear   = 1e-11 // the slope at which it ends
)

// Seek finds the peak of hill i, of a sign, that is nearest to its place and within 0.75 values of it,
// wherever a climb may have led: where the slope turns from up to down. It reports whether there is one.
func (h *Hills) Seek(i int, sign float64) bool {
	found := false
	before := h.slope(i, -seekStride*(seekPlaces/2), sign)
	for n := 1 - seekPlaces/2; n <= seekPlaces/2; n++ {
		x := float64(seekStride * float64(n))
		after := h.slope(i, x, sign)
		if before > 0 && after <= 0 {
			at := h.turn(i, sign, x-seekStride, x, before, after)
			if !found || math.Abs(at) < math.Abs(h.X[i]) {
				found = true
				h.X[i], h.Height[i], h.Bend[i] = at, h.Value(i, at), h.bend(i, at)
			}
		}
		before = after
	}
	return found
}

// turn is where the slope of hill i, which is up at a and down at b, is zero: by false position, where the
// slope at an end that has stayed twice counts half.
func (h *Hills) turn(i int, sign, a, b, up, down float64) float64 {
	stayed := 0
	for range seekTurns {
		x := a + float64((b-a)*(up/(up-down)))
		slope := h.slope(i, x, sign)
		if math.Abs(slope) < seekNear {
			return x
		}
		if slope > 0 {
			if a, up = x, slope; stayed > 0 {
				down *= 0.5
			}
			stayed = 1
		} else {
			if b, down = x, slope; stayed < 0 {
				up *= 0.5
			}
			stayed = -1
		}
	}
	return 0.5 * (a + b)
}

// slope is the slope of hill i at x, times its sign, and bend half of its second derivative.
func (h *Hills) slope(i int, x, sign float64) float64 {
	v := 0.0
	for d := HillTerms - 1; d > 0; d-- {
		v = math.FMA(v, x, float64(float64(d)*h.C[d][i]))
	}
	return float64(sign * v)
}

func (h *Hills) bend(i int, x float64) float64 {
	v := 0.0
	for d := HillTerms - 1; d > 1; d-- {
		v = math.FMA(v, x, float64(float64(d*(d-1)/2)*h.C[d][i]))
	}
	return v
}

const (
	hillPlaces = 6 // at which a side of a hill is looked at
	hillStride = 0.25
	hillTurns  = 20   // of the search for where it falls to the level, at most
	hillNear   = 1e-5 // of the stride's fall: the step that is this near to the level is the last
)

// descendGeneric is Descend.
//
//choose:asm2 (*[84]float64)(unsafe.Pointer(h))
func descendGeneric(h *Hills) {
	for i := range hills {
		for side := range h.Down {
			h.Down[side][i], h.Rises[side][i] = h.descend(i, float64(2*side-1))
		}
	}
}

// descend goes down one side of a hill, which is the way -1 or 1.
func (h *Hills) descend(i int, way float64) (down, rises float64) {
	sign, level := h.sign(i), h.Level[i]
	var over [hillPlaces + 1]float64
	over[0], rises = float64(sign*h.Height[i])-level, -math.MaxFloat64
	for k := 1; k < len(over); k++ {
		x := h.X[i] + float64(way*(hillStride*float64(k)))
		over[k] = float64(sign*h.Value(i, x)) - level
		if over[k] > over[k-1] {
			rises = greater(over[k], rises)
		}
	}
	if !(over[0] > 0) {
		return 0, rises
	}
	for k := 1; k < len(over); k++ {
		if over[k] <= 0 {
			return h.fall(i, way, k, over[k-1], over[k]), rises
		}
	}
	return 0, rises
}

// fall finds where a side falls to the level, between place k-1, which is over it, and place k, which is not.
// The first guess is that of a parabola with its peak at the hill's.
func (h *Hills) fall(i int, way float64, k int, above, below float64) float64 {
	sign := h.sign(i)
	a, b := hillStride*float64(k-1), hillStride*float64(k)
	near := float64(hillNear * (above - below))
	squared := float64(a * a)
	down := math.Sqrt(math.FMA(float64(b*b)-squared, above/(above-below), squared))
	for range hillTurns {
		x := h.X[i] + float64(way*down)
		v, slope := h.C[HillTerms-1][i], 0.0
		for d := HillTerms - 2; d >= 0; d-- {
			slope = follow(slope, x, v, d == HillTerms-2)
			v = math.FMA(v, x, h.C[d][i])
		}
		v, slope = float64(sign*v)-h.Level[i], float64(sign*way*slope)
		if v > 0 {
			a = down
		} else {
			b = down
		}
		down -= v / slope
		if !(down >= a && down <= b) {
			down = float64(0.5 * (a + b))
		}
		if math.Abs(v) < near {
			break
		}
	}
	return down
}

func (h *Hills) sign(i int) float64 {
	if h.Height[i] < 0 {
		return -1
	}
	return 1
}
