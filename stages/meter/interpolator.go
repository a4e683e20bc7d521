package meter

import (
	"math"
	"sync"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// Interpolation runs in two steps, both a sinc under a Kaiser window. The first finds
// the values half way between samples; its transition is narrow, from 21.8/44.1 of the
// rate to its mirror image 22.3/44.1, so it is long. The second finds seven values
// between each two of the doubled sequence, which is as good as empty from a quarter of
// its rate up, so it is short. For content up to 20/44.1 of the rate they are together
// wrong by at most 1e-4 of its amplitude, images included, and by twice that up to
// 21/44.1.
//
// The first is much sharper than the filters through which a ceiling is held (see
// bandlimit), and it must be: what those do not see in the wider transition of their
// own would not be seen here either.
const (
	halfTaps    = 180 // to each side
	halfShape   = 6.5
	eighthReach = 6 // taps to each side
	eighthShape = 10

	// The rough interpolation, which only decides whether to look more closely.
	roughTaps  = 24
	roughShape = 7

	grid = 16 // points a sample

	// reach is how far a value between samples n and n+1 can feel: it needs x[n-reach+1
	// .. n+reach], the parabola at its ends included.
	reach = halfTaps + 3
)

// interpolator holds the taps of both steps and how far an interpolated value can be
// from what lies around it.
type interpolator struct {
	full, rough bandlimit.Doubler
	taps        [grid/2 + 3]pointTaps // of the points at -1/8, 0, 1/8 ... 8/8, 9/8
	eighths     kernel.Eighths
	edge        [kernel.EdgeTaps]float64 // a filter that lets pass what is near half the rate

	cell, samples, middles, points margin
	gain                           float64 // how far a peak can pass the largest magnitude
}

// pointTaps are the taps of a point between the values [6] and [7] of 14 neighbours in
// the doubled sequence, or of one just before or after.
type pointTaps [14]float64

// theInterpolator is shared: nothing writes to it.
var theInterpolator = sync.OnceValue(newInterpolator)

func newInterpolator() *interpolator {
	k := &interpolator{
		full: bandlimit.NewDoubler(halfTaps, halfShape), rough: bandlimit.NewDoubler(roughTaps, roughShape),
	}
	for d := -1; d <= grid/2+1; d++ {
		k.setPoint(d)
	}
	for i := range k.eighths.Even {
		for p := range k.eighths.Even[i] {
			behind, before := k.taps[2+p][6-i], k.taps[2+p][7+i]
			k.eighths.Even[i][p], k.eighths.Odd[i][p] = (behind+before)/2, (behind-before)/2
		}
	}
	k.setEdge()
	k.findMargins()
	return k
}

// setPoint sets the taps for the point that lies d eighths after [6]. A point before
// it or after [7] is one of the pair next to theirs.
func (k *interpolator) setPoint(d int) {
	first, at := 6, float64(float64(d)/8)
	switch {
	case d < 0:
		first, at = 5, at+1
	case d > 8:
		first, at = 7, at-1
	case d == 0 || d == 8:
		k.taps[1+d][6+d/8] = 1
		return
	}
	sum := 0.0
	tap := func(i int) float64 { return bandlimit.WindowedSinc(at-float64(i), eighthReach, eighthShape) }
	for i := 1 - eighthReach; i <= eighthReach; i++ {
		sum += tap(i)
	}
	for i := 1 - eighthReach; i <= eighthReach; i++ {
		k.taps[1+d][first+i] = tap(i) / sum
	}
}

// setEdge sets the taps of the edge filter, which leave half the rate as it is: a Kaiser window,
// nearly, that changes its sign from tap to tap.
func (k *interpolator) setEdge() {
	const middle, stretch, shape = kernel.EdgeTaps / 2, 25, 5.5
	sum := 0.0
	for j := range k.edge {
		k.edge[j] = bandlimit.WindowedSinc(float64(j-middle)/stretch, float64(middle)/stretch, shape)
		sum += k.edge[j]
	}
	for j := range k.edge {
		k.edge[j] *= float64(1-2*((j+middle)%2)) / sum
	}
}

// top is the largest magnitude between u[6] and u[7] of the doubled sequence, both
// included, and point that of the points alone, without their parabolas.
func (k *interpolator) top(u []float64) (top, point float64) {
	around := (*pointTaps)(u)
	var v [len(k.taps)]float64
	for d := range v {
		taps := &k.taps[d]
		var even, odd float64
		for j := 0; j < len(taps); j += 2 {
			even += float64(taps[j] * around[j])
			odd += float64(taps[j+1] * around[j+1])
		}
		v[d] = even + odd
	}
	for i := 1; i < len(v)-1; i++ {
		top = max(top, summit(v[i-1], v[i], v[i+1]))
		point = max(point, math.Abs(v[i]))
	}
	return top, point
}

// summit is the top of the parabola through three points a step apart, if the middle
// one b is the furthest from zero; else 0.
func summit(a, b, c float64) float64 {
	if b < 0 {
		a, b, c = -a, -b, -c
	}
	if b < a || b < c {
		return 0
	}
	arch := 2*b - a - c
	if arch == 0 {
		return b
	}
	return b + float64((a-c)*(a-c))/(8*arch)
}
