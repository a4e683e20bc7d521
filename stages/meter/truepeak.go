package meter

import "math"

// truePeak is the largest magnitude of the interpolated signal so far, over
// all channels.
//
// Interpolating everything would cost more than all other figures together.
// So each place is first bounded from above, and only what could pass the
// largest value found so far is worked out, step by step:
//
//   - a cell of samples by its largest magnitude and its largest second
//     difference (most of any programme ends here);
//   - an interval between two samples by those two;
//   - the same interval by the value half way, too, which leaves little room;
//   - each half of it by the second differences of the doubled sequence, which
//     leaves next to none.
//
// The bounds are proven (see margin), so the outcome is that of working out
// every place, to the last bit.
type truePeak struct {
	top     float64
	kernel  *interpolator
	middles [longestCell + 6]float64 // of one call of search
}

// slack is what rounding could do to a bound.
const slack = 1 - 1e-9

// limit is the magnitude that two neighbours must pass for a peak between
// them to pass the largest so far. No signal's magnitude passes top, which is
// told of every sample before it is searched.
func (t *truePeak) limit(m margin, bend float64) float64 {
	return (t.top*(1-m.rest) - m.bend*bend) * slack
}

// within says that no peak can pass the largest so far where no magnitude
// passes loud.
func (t *truePeak) within(loud float64) bool {
	return loud*t.kernel.samples.gain <= t.top*slack
}

// search looks between x[n] and x[n+1] for each n from from up to before to.
// It reads x from from-reach+1 to to-1+reach, where no magnitude passes loud
// and no second difference passes bend.
func (t *truePeak) search(x []float64, from, to int, loud, bend float64) {
	k := t.kernel
	limit := t.limit(k.samples, bend)
	if loud <= limit {
		return
	}
	ready := from - 3 // the first middle that is not yet there
	for n := from; n < to; n++ {
		loud := max(math.Abs(x[n]), math.Abs(x[n+1]))
		if loud <= limit || max(loud, math.Abs(k.middle(x, n))) <= t.limit(k.middles, bend) {
			continue
		}
		for ready = max(ready, n-3); ready <= n+3; ready++ {
			t.middles[ready-from+3] = k.middle(x, ready)
		}
		u := double(x[n-3:], t.middles[n-from:])
		for _, half := range u.halves() {
			t.searchHalf(half)
		}
		limit = t.limit(k.samples, bend)
	}
}

// searchHalf looks between u[6] and u[7].
func (t *truePeak) searchHalf(u *around) {
	m := t.kernel.doubled
	loud := max(math.Abs(u[6]), math.Abs(u[7]))
	if loud <= t.limit(m, sharpest(u[:])) {
		return
	}
	v := t.kernel.points(u)
	for i := 1; i < len(v)-1; i++ {
		t.top = max(t.top, summit(v[i-1], v[i], v[i+1]))
	}
}

// summit is the top of the parabola through three points a step apart, if the
// middle one b is the furthest from zero; else 0.
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
