package bandlimit

import "ledgerline/stages/kernel"

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
// part of how much they bend there; see kernel.Peaks.
const fineGive = 1.0 / 2

// EachHill calls f with the peaks of a tile that may pass an aim, as the values at four times the track's
// rate show them, up to four at a time and in their order in time. One at the last value of the tile before
// it belongs to the tile, and one at its own last value to the next. The values at twice the rate, of the
// tile and of those beside it, have been filled.
func (f *Fourfold) EachHill(twice *Rate, tile int, aim float64, each func(*Hills)) {
	var mask [4 * Tile / 64]uint64
	u, at := f.Fill(twice, tile)
	kernel.Peaks(u, at-1, 4*Tile, aim, fineGive, mask[:])
	f.hills.find(twice, u[at-2:], 4*Tile*tile-1, mask[:], each)
}
