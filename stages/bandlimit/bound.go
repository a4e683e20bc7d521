package bandlimit

import (
	"math"
	"sync"

	"ledgerline/stages/kernel"
)

// A bound holds for the values that are interpolated between some that are known, in two ways. None has
// a magnitude of more than
//
//	gain * (largest magnitude around), or
//	max(|a|, |b|) + bend * (largest second difference around) + rest * (largest magnitude around),
//
// where a and b are the known ones before and after it. The first is the sum of the absolute
// coefficients. For the second the straight line from a to b is left out; what remains has
// weights that add up to almost nothing, and is summed by parts twice. Programme is smooth
// from sample to sample, so that the second is the tighter one as a rule.
type bound struct{ gain, bend, rest float64 }

// slack lets a bound that is exact in theory stay safe in floating point, as does faint, which is
// what rounding may add to a value, of the largest around.
const (
	slack = 1 + 1e-9
	faint = 1e-12
)

// bounds has, for each level below that of the last doubling, the bound of the values of all levels above it.
// All interpolators of a cascade, which never changes, have those that were worked out for the first.
func (c Cascade) bounds() []bound {
	if len(c) == 0 {
		return nil
	}
	key := cascadeKey{&c[0], len(c)}
	known, ok := knownBounds.Load(key)
	if !ok {
		known, _ = knownBounds.LoadOrStore(key, c.newBounds())
	}
	return known.([]bound)
}

// knownBounds are those of cascades, []bound, by their first doubler and how many they have.
var knownBounds sync.Map

type cascadeKey struct {
	first *Doubler
	count int
}

func (c Cascade) newBounds() []bound {
	bounds := make([]bound, len(c))
	for l := range bounds {
		// The response of all later levels to one sample of level l.
		response := []float64{1}
		for _, d := range c[l:] {
			response = interpolate(response, d.halfBand)
		}
		bounds[l] = newBound(response, 1<<(len(c)-l))
	}
	return bounds
}

// newBound is the bound of values of which there are per for each that is known, with the
// response to one of these.
func newBound(response []float64, per int) bound {
	b := bound{gain: slack}
	middle := len(response) / 2
	for phase := 1; phase < per; phase++ {
		// The weights of the known values, from the last to the first: the middle is that of a for phase 0.
		var w []float64
		first := (middle + phase) % per
		for i := first; i < len(response); i += per {
			w = append(w, response[i])
		}
		a := (middle + phase) / per
		sum := 0.0
		for _, v := range w {
			sum += math.Abs(v)
		}
		b.gain = max(b.gain, sum*slack)
		x := float64(phase) / float64(per)
		w[a] -= 1 - x
		w[a-1] -= x
		bend, rest := ByParts(w)
		b.bend, b.rest = max(b.bend, bend), max(b.rest, rest+faint)
	}
	return b
}

// ByParts bounds sum w[j] x[j] by bend times the largest second difference of
// x plus rest times its largest magnitude, by summing by parts twice.
func ByParts(w []float64) (bend, rest float64) {
	last := len(w) - 1
	for last > 0 && w[last] == 0 {
		last-- // or rest would be spread over second differences far from x
	}
	var once, twice float64
	for _, v := range w[:last] {
		once += v
		bend += math.Abs(twice)
		twice += once
	}
	return bend, math.Abs(once+w[last]) + 2*math.Abs(twice)
}

// mayBePassed reports whether a value between those of a tile, which is bounded by
// b and by as many tiles to either side as are around, may pass the ceiling.
func (r *Rate) mayBePassed(tile, around int, b bound, ceiling float64) bool {
	near := max(r.Peak(tile), r.Peak(tile+1))
	if near > ceiling {
		return true
	}
	far, bend := near, 0.0
	for t := tile - around; t <= tile+around; t++ {
		far = max(far, r.Peak(t))
		bend = max(bend, r.bends[t])
	}
	return far*b.gain > ceiling && (near+float64(b.bend*bend)+float64(b.rest*far))*slack > ceiling
}

// look finds the largest magnitude and second difference of a tile. Those count that end in it.
func (r *Rate) look(tile int) float64 {
	r.Fill(tile)
	from, cells := tile*Tile<<r.level, 1<<r.level
	if r.bends == nil {
		r.peaks[tile] = kernel.MaxAbs(r.values[from : from+cells*Tile])
		return r.peaks[tile]
	}
	var peaks, bends [4]float64
	peak, bend := 0.0, 0.0
	for at := 0; at < cells; at += len(peaks) {
		n := min(cells, len(peaks))
		kernel.Scan(r.values[from+at*kernel.Cell-2:][:2+n*kernel.Cell], peaks[:n], bends[:n])
		for i := range n {
			peak, bend = max(peak, peaks[i]), max(bend, bends[i])
		}
	}
	r.peaks[tile], r.bends[tile] = peak, bend
	return peak
}
