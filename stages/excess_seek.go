package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// masks have a bit for each value of a tile.
type masks struct {
	over, under, turns [tile * 16 / 64]uint64
}

// calm is the part of a level below which a value is taken for no neighbour of a
// peak that passes it: between two values at the given multiple of the rate, a
// band-limited signal whose highest peak is 1 is above 1 - (pi/factor)^2/8 at one of
// them (Bernstein's inequality). A peak between others several times as high can
// be steeper; then an excess that is shorter than from one value to the next may be missed.
func calm(factor int) float64 {
	x := math.Pi / float64(factor)
	return 1 - float64(x*x/8)
}

// seek finds the excess of one tile, and the corners from the last value of the
// tile before it to its own last value.
func (e *excess) seek(t int) {
	may := e.in.MayPass(t, calm(e.factor)*e.ceiling)
	before := e.near
	e.near = may
	if !may && !before {
		return
	}
	for k := t - 1; k <= t+1; k++ {
		e.in.Fill(k)
	}
	n := tile * e.factor
	u, from := e.in.Values(), t*n
	m := &e.mask
	kernel.Beyond(u, from, n, e.ceiling, m.over[:], m.under[:], m.turns[:])
	if e.run != nil {
		e.seekRuns(t)
		return
	}
	e.beyond[t] = false
	for w := range n / 64 {
		e.beyond[t] = e.beyond[t] || m.over[w]|m.under[w] != 0
	}
	e.corners = e.corners[:0]
	e.eachCorner(from, m.turns[:n/64], func(m int, sign float64, enters bool) {
		c := bandlimit.Corner{At: m, Level: sign * e.ceiling, Rising: enters == (sign > 0), Enters: enters}
		e.corners = append(e.corners, c)
	}, func(m int) { e.corners = e.graze(e.corners, m) })
	e.in.Meet(e.corners)
	e.book(e.corners)
}

// book spreads corners over the values around them, in their order wherever the tiles end.
func (e *excess) book(corners []bandlimit.Corner) {
	for i := range corners {
		c := &corners[i]
		e.corner(c.At, c.X, c.D1, c.D2, c.D3, c.Enters)
	}
}

// eachCorner calls cross, in their order, for each crossing of the ceiling between the value
// before a tile's first, from, and its last, with the value before it, the sign of the ceiling and whether
// the signal passes it there; and turn, between them, for the value of each extremum of which the bit of
// turns is set.
func (e *excess) eachCorner(from int, turns []uint64, cross func(m int, sign float64, enters bool),
	turn func(m int)) {
	last := e.in.Values()[from-1]
	wasOver, wasUnder := bit(last > e.ceiling), bit(last < -e.ceiling)
	for w, extrema := range turns {
		over, under := e.mask.over[w], e.mask.under[w]
		crossOver, crossUnder := over^(over<<1|wasOver), under^(under<<1|wasUnder)
		wasOver, wasUnder = over>>63, under>>63
		for all := crossOver | crossUnder | extrema; all != 0; all &= all - 1 {
			i := bits.TrailingZeros64(all)
			at := uint64(1) << i
			m := from + w*64 + i - 1
			// What ends comes before what begins.
			for _, enters := range [2]bool{false, true} {
				if crossOver&at != 0 && (over&at != 0) == enters {
					cross(m, 1, enters)
				}
				if crossUnder&at != 0 && (under&at != 0) == enters {
					cross(m, -1, enters)
				}
			}
			if extrema&at != 0 {
				turn(m)
			}
		}
	}
}

func bit(b bool) uint64 {
	if b {
		return 1
	}
	return 0
}

// cross books the corner between the values m and m+1, one of which is beyond
// the ceiling of that sign.
func (e *excess) cross(m int, sign float64, enters bool) {
	x, d1, d2, d3 := e.in.Cross(m, sign*e.ceiling, enters == (sign > 0))
	e.corner(m, x, d1, d2, d3, enters)
}

// graze appends the two corners of a stretch shorter than a sample around value m:
// an excess between two values that are not over, or a gap between two that are. A
// parabola through three values lies at most an eighth of its bend further than the
// middle one, other curves not twice that.
func (e *excess) graze(dst []bandlimit.Corner, m int) []bandlimit.Corner {
	u := e.in.Values()
	sign := 1.0
	if math.Signbit(u[m]) {
		sign = -1
	}
	over := sign*u[m] > e.ceiling
	// The extremum lies on the side of the neighbour that is more like it.
	if (sign*u[m-1] < sign*u[m+1]) == over {
		m--
	}
	curve := e.in.Curve(m)
	x, ok := curve.Extremum(-0.5, 0.5)
	if v, _, _, _ := curve.At(x); !ok || (sign*v > e.ceiling) == over {
		return dst
	}
	level, rising := sign*e.ceiling, over != (sign > 0)
	for i, x := range [2]float64{curve.Cross(level, -0.5, x, rising), curve.Cross(level, x, 0.5, !rising)} {
		c := bandlimit.Corner{At: m, Enters: over == (i == 1), Known: true, X: x}
		_, c.D1, c.D2, c.D3 = curve.At(x)
		dst = append(dst, c)
	}
	return dst
}

// corner spreads the residual of a corner at x of the interval after value m, where the
// signal has the derivatives d1, d2 and d3, over the values around it. At it the excess enters,
// or leaves, zero.
func (e *excess) corner(m int, x, d1, d2, d3 float64, enters bool) {
	if !enters {
		d1, d2, d3 = -d1, -d2, -d3
	}
	from := m + 1 - bandlimit.Spread/2
	e.residuals.Corner((*[bandlimit.Spread]float64)(e.owed[from:]), x+0.5, d1, d2, d3)
	n := tile * e.factor
	e.active[from/n], e.active[(from+bandlimit.Spread-1)/n] = true, true
}
