package bandlimit

import (
	"math"
	"math/bits"

	"ledgerline/stages/kernel"
)

// A Fourfold is the values of a tile at four times the track's rate: those at twice the rate and, had by a
// short filter, those halfway between them. They are within 2e-4 of the largest around, enough to see where a
// peak hides, if not how high it is.
type Fourfold struct {
	halfway [fourfoldBefore/2 + 2*Tile]float64
	values  [fourfoldBefore + 4*Tile]float64
	hills   Hills
}

// fourfoldBefore is how many values before the tile's there are as well.
const fourfoldBefore = 2 * kernel.Group

// rough tells the band from its images by 87 dB.
var rough = NewDoubler(6, kaiserBeta(87))

// Fill computes the values of a tile, and returns them with some before them and where its first one is.
// Those at twice the rate, of the tile and of those beside it, have been filled.
func (f *Fourfold) Fill(twice *Rate, tile int) (values []float64, at int) {
	from := 2*Tile*tile - fourfoldBefore/2
	rough.Between(f.halfway[:], twice.values, from)
	kernel.Zip(f.values[:], twice.values[from:][:len(f.halfway)], f.halfway[:])
	return f.values[:], fourfoldBefore
}

// fineGive is how far a peak may rise above the largest of the values at four times the track's rate, as a
// part of how much they bend there; see kernel.Peaks. fineBelow is by how much more, as a part of its height,
// if it is one of two humps, between which the values hardly bend (6948.5 Hz, 5.9 dB over: 101 dB, not 135).
const (
	fineGive  = 1.0 / 2
	fineBelow = 0.0015
)

// EachHill calls f with the peaks of a tile that may pass an aim, as the values at four times the track's
// rate show them, up to four at a time and in their order in time. One at the last value of the tile before
// it belongs to the tile, and one at its own last value to the next. The values at twice the rate, of the
// tile and of those beside it, have been filled.
func (f *Fourfold) EachHill(twice *Rate, tile int, aim float64, each func(*Hills)) {
	var mask [4 * Tile / 64]uint64
	u, at := f.Fill(twice, tile)
	kernel.Peaks(u, at-1, 4*Tile, aim*(1-fineBelow), fineGive, mask[:])
	shoulders(mask[:], u[at-3:], aim)
	f.hills.find(twice, u[at-2:], 4*Tile*tile-1, mask[:], each)
}

// shoulders sets the bits of mask for those values before which a peak may be hidden from the values: where
// the slope, that goes one way, all but ends and goes on (1995.9 Hz, 1.9 dB over: 84 dB). Bit i is for u[i+2]
// and what is between it and the one before.
func shoulders(mask []uint64, u []float64, aim float64) {
	over := above(u[:2], aim)
	for i := range mask {
		// Of bits i to i+63, and of the two before and the one after, which are over. A hidden peak is between
		// one that is and a higher one next to it.
		here := above(u[64*i+2:][:64], aim)
		a, b := over|here<<2, over>>1|here<<1
		d := here>>1 | above(u[64*i+66:][:1], aim)<<63
		over = here >> 62
		for set := (b | here) & (a | d) &^ mask[i]; set != 0; set &= set - 1 {
			k := bits.TrailingZeros64(set)
			if isShoulder((*[4]float64)(u[64*i+k:])) {
				mask[i] |= 1 << k
			}
		}
	}
}

// above has bit i set where u[i] passes the aim.
func above(u []float64, aim float64) (set uint64) {
	i := 0
	for ; i+kernel.Group <= len(u); i += kernel.Group {
		set |= uint64(kernel.Above((*[kernel.Group]float64)(u[i:]), aim)) << i
	}
	for ; i < len(u); i++ {
		if math.Abs(u[i]) > aim {
			set |= 1 << i
		}
	}
	return set
}

// isShoulder reports whether there may be a peak between the middle two of four values. The slope is a
// parabola through its means over the three steps.
func isShoulder(u *[4]float64) bool {
	const out = 2 * rest // what a slope may be out by
	a, b, c, d := math.Abs(u[0]), math.Abs(u[1]), math.Abs(u[2]), math.Abs(u[3])
	before, here, after := b-a, c-b, d-c
	if here < 0 {
		before, here, after = -before, -here, -after
	}
	if !(before >= here && after > here) {
		return false
	}
	bow, turn := (before-here)+(after-here), after-before
	return here < float64(turn*turn)/float64(8*bow)+float64(bow/24)+float64(out*b)
}
