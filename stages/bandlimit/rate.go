package bandlimit

import "ledgerline/stages/kernel"

// A Rate is the stretch of an interpolator at a multiple of the track's rate.
type Rate struct {
	ip      *Interpolator
	level   int       // two to its power is the multiple
	values  []float64 // values[i] is that at frame i / 2^level
	peaks   []float64 // of each tile the largest magnitude, -1 = not known
	bends   []float64 // likewise the largest second difference; nil at the highest rate
	bounds  []bound   // of any value, in terms of those of each lower rate around it
	doubler *Doubler  // from the rate below; nil at the track's
	summits *summitTable
}

func newRate(ip *Interpolator, c Cascade, level, top int) *Rate {
	r := &Rate{ip: ip, level: level, bounds: c[:level].bounds(), summits: summits()}
	if level > 0 {
		r.doubler = &c[level-1]
	}
	r.values, r.peaks = make([]float64, ip.most<<level), make([]float64, ip.most/Tile)
	if level < top {
		r.bends = make([]float64, ip.most/Tile)
	}
	return r
}

// Factor is how many values a frame there are.
func (r *Rate) Factor() int { return 1 << r.level }

// Values are the values of the stretch. They hold in tiles that have been filled.
func (r *Rate) Values() []float64 { return r.values[:r.ip.frames<<r.level] }

// Peak is the largest magnitude among the values of a tile.
func (r *Rate) Peak(tile int) float64 {
	if p := r.peaks[tile]; p >= 0 {
		return p
	}
	return r.look(tile)
}

// MayPass reports whether a value of the tile may pass the ceiling. It is never
// false where one does: it bounds the values by those of lower rates (see bound),
// with as few levels of interpolation as suffice. Where it is true the tile is filled.
func (r *Rate) MayPass(tile int, ceiling float64) bool {
	if r.ip.rates[0].Peak(tile) > ceiling { // a frame is a value at every rate
		r.Fill(tile)
		return true
	}
	if r.ip.filled[tile]>>r.level == 0 {
		around := dependence
		for l, b := range r.bounds {
			if !r.ip.rates[l].mayBePassed(tile, around, b, ceiling) {
				return false
			}
			around = 1
		}
	}
	return r.Peak(tile) > ceiling
}

// Fill computes the values of the tile. Reach frames after it have been pushed.
func (r *Rate) Fill(tile int) {
	if r.ip.filled[tile]>>r.level&1 == 0 {
		r.fill(tile)
	}
}

func (r *Rate) fill(tile int) {
	lower := r.ip.rates[r.level-1]
	for t := tile - 1; t <= tile+1; t++ {
		lower.Fill(t)
	}
	n := Tile << lower.level
	from, between := tile*n, r.ip.between[:n]
	r.doubler.Between(between, lower.values, from)
	kernel.Zip(r.values[2*from:2*(from+n)], lower.values[from:from+n], between)
	r.ip.filled[tile] |= 1 << r.level
}

// interpolate doubles the rate of x, whose middle sample stays in the middle.
func interpolate(x []float64, h halfBand) []float64 {
	reach := 2*len(h) - 1
	y := make([]float64, 2*len(x)-1+2*reach)
	for i, v := range x {
		at := 2*i + reach
		y[at] += v
		for k, c := range h {
			y[at-2*k-1] += float64(c * v)
			y[at+2*k+1] += float64(c * v)
		}
	}
	return y
}
