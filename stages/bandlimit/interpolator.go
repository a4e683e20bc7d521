package bandlimit

import (
	"math"
	"math/bits"

	"ledgerline/stages/kernel"
)

// Tile is the number of frames that are interpolated at once. Tiles are
// counted from the first frame of the track, so that what is computed together
// never depends on the lengths of the blocks a caller pushes.
const Tile = 32

// Reach is how many frames must be held to either side of a tile that is
// filled or asked about, and of its neighbours.
const Reach = 8 * Tile

const (
	// frames is how many frames are held at most.
	frames = 8192 + 2*Reach
	// dependence is how many tiles to either side the values of a tile depend on:
	// the half-band filters reach 95.5, 6.25, 1.9 and 0.8 frames.
	dependence = 4
	// slack lets a bound that is exact in theory stay safe in floating point.
	slack = 1 + 1e-9
)

// An Interpolator holds a stretch of one channel and, tile by tile and only
// where they are asked for, its values between the samples.
//
// A frame's index is counted from the stretch's first frame, which moves with
// Drop, and a value's likewise, factor of them to a frame. Before the track's first
// frame and behind its last the signal is zero.
type Interpolator struct {
	factor, levels int
	up             [][]float64 // up[l][i] is the value at frame i / 2^l; up[0] is the signal
	frames         int         // pushed and not dropped
	first, end     int         // of the track, in frames of the stretch
	filled         []uint8     // bit l: the tile's part of up[l] holds its values
	peak           [][]float64 // peak[l][tile]: the largest magnitude in its part of up[l], -1 = not known
	bounds         []float64   // of any value, in terms of the largest in up[l] around it
	between        []float64   // scratch: the values that a level adds to a tile
}

// NewInterpolator returns an interpolator of the factor 2, 4, 8 or 16.
func NewInterpolator(factor int) *Interpolator {
	levels := bits.TrailingZeros(uint(factor))
	ip := &Interpolator{factor: factor, levels: levels, end: math.MaxInt, bounds: boundsOf(levels)}
	ip.up, ip.peak = make([][]float64, levels+1), make([][]float64, levels+1)
	for l := range ip.up {
		ip.up[l], ip.peak[l] = make([]float64, frames<<l), make([]float64, frames/Tile)
	}
	ip.filled = make([]uint8, frames/Tile)
	ip.between = make([]float64, Tile*factor/2)
	ip.PushZeros(Reach)
	return ip
}

// Frames is how many frames the stretch has.
func (ip *Interpolator) Frames() int { return ip.frames }

// Room is how many frames can be pushed before some must be dropped.
func (ip *Interpolator) Room() int { return frames - ip.frames }

// Push appends x, at most Room frames.
func (ip *Interpolator) Push(x []float64) {
	copy(ip.up[0][ip.frames:], x)
	ip.grow(len(x))
}

// PushZeros appends n frames of silence, at most Room.
func (ip *Interpolator) PushZeros(n int) {
	clear(ip.up[0][ip.frames : ip.frames+n])
	ip.grow(n)
}

func (ip *Interpolator) grow(n int) {
	for t := ip.frames / Tile; t*Tile < ip.frames+n; t++ {
		ip.forget(t, onlySignal)
	}
	ip.frames += n
}

// Drop forgets the first n frames, a whole number of tiles.
func (ip *Interpolator) Drop(n int) {
	for l, x := range ip.up {
		copy(x, x[n<<l:ip.frames<<l])
		copy(ip.peak[l], ip.peak[l][n/Tile:])
	}
	copy(ip.filled, ip.filled[n/Tile:])
	ip.frames -= n
	ip.first -= n
	if ip.end != math.MaxInt {
		ip.end -= n
	}
}

// Begin says that the next frame to be pushed is the track's first, and End that
// the last one pushed was its last. Beyond them the signal stays zero.
func (ip *Interpolator) Begin() { ip.first = ip.frames }

// End is described at Begin.
func (ip *Interpolator) End() { ip.end = ip.frames }

// Remove takes r off the signal in a tile. The values that depend on it are
// filled in again when asked for.
func (ip *Interpolator) Remove(tile int, r []float64) {
	from := tile * Tile
	x := ip.up[0][from:]
	for i := max(ip.first-from, 0); i < min(ip.end-from, len(r)); i++ {
		x[i] -= r[i]
	}
	for t := tile - dependence; t <= tile+dependence; t++ {
		ip.forget(t, onlySignal)
	}
}

// onlySignal says of a tile that nothing but the signal itself is known of it.
const onlySignal = 1

// forget drops what is known of a tile but the levels of which the bits are set.
func (ip *Interpolator) forget(t int, keep uint8) {
	ip.filled[t] &= keep
	ip.filled[t] |= onlySignal
	for l := range ip.peak {
		ip.peak[l][t] = -1
	}
}

// Signal is the stretch itself.
func (ip *Interpolator) Signal() []float64 { return ip.up[0][:ip.frames] }

// Values are the values of the stretch. They hold in tiles that have been filled.
func (ip *Interpolator) Values() []float64 { return ip.up[ip.levels][:ip.frames*ip.factor] }

// Peak is the largest magnitude among the values of a tile.
func (ip *Interpolator) Peak(tile int) float64 { return ip.levelPeak(tile, ip.levels) }

// MayPass reports whether a value of the tile may pass the ceiling. It is
// never false where one does: it bounds the values by the largest neighbour
// times the sum of the absolute filter coefficients, with as few levels of
// interpolation as suffice. Where it is true the tile is filled.
func (ip *Interpolator) MayPass(tile int, ceiling float64) bool {
	if ip.filled[tile]>>ip.levels == 0 {
		around := dependence
		for l := range ip.bounds {
			m := 0.0
			for t := tile - around; t <= tile+around; t++ {
				m = max(m, ip.levelPeak(t, l))
			}
			if m*ip.bounds[l] <= ceiling {
				return false
			}
			around = 1
		}
	}
	return ip.Peak(tile) > ceiling
}

// levelPeak is the largest magnitude in the tile's part of up[l].
func (ip *Interpolator) levelPeak(tile, l int) float64 {
	if p := ip.peak[l][tile]; p >= 0 {
		return p
	}
	ip.fill(tile, l)
	ip.peak[l][tile] = kernel.MaxAbs(ip.up[l][tile*Tile<<l : (tile+1)*Tile<<l])
	return ip.peak[l][tile]
}

// Fill computes the values of the tile. Reach frames behind it have been pushed.
func (ip *Interpolator) Fill(tile int) { ip.fill(tile, ip.levels) }

func (ip *Interpolator) fill(tile, l int) {
	if ip.filled[tile]>>l&1 == 1 {
		return
	}
	for t := tile - 1; t <= tile+1; t++ {
		ip.fill(t, l-1)
	}
	n := Tile << (l - 1)
	from, below := tile*n, ip.up[l-1]
	doublings[l-1].Apply(ip.between[:n], below[from+1-len(halfBands[l-1]):])
	kernel.Zip(ip.up[l][2*from:2*(from+n)], below[from:from+n], ip.between[:n])
	ip.filled[tile] |= 1 << l
}

// boundsOf gives for each level l < levels the factor by which a value of any
// later level can exceed the largest value of the levels up to l: the sum of
// the absolute coefficients by which it depends on them.
func boundsOf(levels int) []float64 {
	bounds := make([]float64, levels)
	for l := range bounds {
		// The response of all later levels to one sample of level l.
		response := []float64{1}
		for _, h := range halfBands[l:levels] {
			response = interpolate(response, h)
		}
		per := 1 << (levels - l)
		sums := make([]float64, per)
		middle := len(response) / 2
		for i, r := range response {
			sums[((i-middle)%per+per)%per] += math.Abs(r)
		}
		for _, s := range sums {
			bounds[l] = max(bounds[l], s*slack)
		}
	}
	return bounds
}

// interpolate doubles the rate of x, whose middle sample stays in the middle.
func interpolate(x []float64, h halfBand) []float64 {
	reach := 2*len(h) - 1
	y := make([]float64, 2*len(x)-1+2*reach)
	for i, v := range x {
		at := 2*i + reach
		y[at] += v
		for k, c := range h {
			y[at-2*k-1] += c * v
			y[at+2*k+1] += c * v
		}
	}
	return y
}
