package meter

import (
	"math"
	"sync"
)

// Interpolation runs in two steps, both a sinc under a Kaiser window. The
// first finds the values half way between samples; its transition runs from
// 20/44.1 of the rate to its mirror image 24.1/44.1, so it is long. The second
// finds seven values between each two of the doubled sequence, which is empty
// from a quarter of its rate up, so it is short. The window shapes are those
// with the least error for content up to 20/44.1 of the rate: 4.8e-5 and
// 4.2e-5 of its amplitude, images included.
const (
	halfTaps    = 32 // to each side
	halfShape   = 9.35
	eighthReach = 6 // taps to each side
	eighthShape = 10.25

	grid = 16 // points a sample

	// reach is how far a value between samples n and n+1 can feel: it needs
	// x[n-reach+1 .. n+reach], the parabola at its ends included.
	reach = halfTaps + 3
)

// interpolator holds the taps of both steps and how far an interpolated value
// can be from what lies around it.
type interpolator struct {
	half   [halfTaps]float64 // half[i] for the samples i + 1/2 away
	eighth [5]eighthTaps     // eighth[p] for p/8; 0 is not used

	samples margin // of a peak between two samples
	middles margin // the same when the value half way is known
	doubled margin // of a peak between two values of the doubled sequence
}

// eighthTaps are the taps for p/8 and, mirrored, for 1 - p/8, as their even
// and odd parts: p/8 is the sum and 1 - p/8 the difference.
type eighthTaps struct{ even, odd [eighthReach]float64 }

// theInterpolator is shared: nothing writes to it.
var theInterpolator = sync.OnceValue(newInterpolator)

func newInterpolator() *interpolator {
	k := &interpolator{}
	var sum float64
	for i := range k.half {
		k.half[i] = windowedSinc(float64(i)+0.5, halfTaps, halfShape)
		sum += 2 * k.half[i]
	}
	for i := range k.half {
		k.half[i] /= sum
	}
	for p := 1; p < len(k.eighth); p++ {
		k.eighth[p] = newEighthTaps(float64(p) / 8)
	}
	k.findMargins()
	return k
}

func newEighthTaps(at float64) eighthTaps {
	var taps [2 * eighthReach]float64
	var sum float64
	for i := range taps {
		taps[i] = windowedSinc(at-float64(i-eighthReach+1), eighthReach, eighthShape)
		sum += taps[i]
	}
	var t eighthTaps
	for i := range t.even {
		behind, before := taps[eighthReach-1-i], taps[eighthReach+i]
		t.even[i] = (behind + before) / (2 * sum)
		t.odd[i] = (behind - before) / (2 * sum)
	}
	return t
}

// windowedSinc is sin(pi t)/(pi t) under a Kaiser window of the given half
// width and shape (beta). t is not 0.
func windowedSinc(t, half, shape float64) float64 {
	r := 1 - (t/half)*(t/half)
	if r <= 0 {
		return 0
	}
	return math.Sin(math.Pi*t) / (math.Pi * t) * bessel0(shape*math.Sqrt(r)) / bessel0(shape)
}

// bessel0 is the modified Bessel function of order 0, by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term*term > 1e-18*sum; k++ {
		term *= x / (2 * k)
		sum += term * term
	}
	return sum
}

// middle is the value half way between x[n] and x[n+1].
func (k *interpolator) middle(x []float64, n int) float64 {
	return middle((*[2 * halfTaps]float64)(x[n-halfTaps+1:]), &k.half)
}

// doubled is the doubled sequence from sample n-3 to sample n+4: what the
// points between samples n and n+1 need.
type doubled [15]float64

// double joins x[n-3 .. n+4] and the middles behind samples n-3 to n+3.
func double(x, middles []float64) (u doubled) {
	x, middles = x[:8], middles[:7]
	for i, m := range middles {
		u[2*i], u[2*i+1] = x[i], m
	}
	u[14] = x[7]
	return u
}

// around is what the points between two values of the doubled sequence, its
// [6] and [7], need.
type around [14]float64

// halves are the surroundings of the two values' intervals between samples n
// and n+1.
func (u *doubled) halves() [2]*around {
	return [2]*around{(*around)(u[0:14]), (*around)(u[1:15])}
}

// points are the values at -1/8, 0, 1/8 ... 8/8, 9/8 of an interval of the
// doubled sequence: [1] and [9] are its ends.
type points [grid/2 + 3]float64

func (k *interpolator) points(u *around) (v points) {
	_, v[0] = between(u[0:12], &k.eighth[1])
	v[1], v[9] = u[6], u[7]
	for p := 1; p < 4; p++ {
		v[1+p], v[9-p] = between(u[1:13], &k.eighth[p])
	}
	v[5], _ = between(u[1:13], &k.eighth[4])
	v[10], _ = between(u[2:14], &k.eighth[1])
	return v
}
