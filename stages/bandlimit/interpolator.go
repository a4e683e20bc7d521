package bandlimit

import (
	"fmt"
	"math"
	"math/bits"
)

// Tile is the number of frames that are interpolated at once. Tiles are
// counted from the first frame of the track, so that what is computed together
// never depends on the lengths of the blocks a caller pushes.
const Tile = 64

// Reach is how many frames must be held to either side of a tile that is
// filled or asked about, and of its neighbours.
const Reach = 8 * Tile

// dependence is how many tiles to either side the values of a tile depend on:
// the half-band filters reach 95.5 at most, and 5.75, 1.9 and 0.8 frames.
const dependence = 2

// An Interpolator holds a stretch of one channel and, tile by tile and only
// where they are asked for, its values between the samples.
//
// A frame's index is counted from the stretch's first frame, which moves with
// Drop, and a value's likewise, factor of them to a frame. Before the track's first
// frame and after its last the signal is zero.
type Interpolator struct {
	rates      []*Rate   // rates[l] has 2^l values a frame; rates[0] is the signal
	most       int       // frames that can be held
	frames     int       // pushed and not dropped
	first, end int       // of the track, in frames of the stretch
	overall    bound     // of any value between the frames
	filled     []uint8   // bit l: the tile's part of rates[l] holds its values
	between    []float64 // scratch: the values that a level adds to a tile
}

// NewInterpolator returns an interpolator to all powers of two up to factor, which is
// one itself, up to 16. It holds so many frames at most, a whole number of tiles, besides Reach to either
// side.
func NewInterpolator(factor int, c Cascade, frames int) *Interpolator {
	if frames < Tile || frames%Tile != 0 {
		panic(fmt.Sprintf("bandlimit: a stretch of %d frames, want a multiple of %d", frames, Tile))
	}
	most := frames + 2*Reach
	ip := &Interpolator{
		most: most, end: math.MaxInt,
		filled: make([]uint8, most/Tile), between: make([]float64, Tile*factor/2),
	}
	ip.overall = c.bounds()[0]
	levels := bits.Len(uint(factor))
	for l := range levels {
		ip.rates = append(ip.rates, newRate(ip, c, l, levels-1))
	}
	ip.PushZeros(Reach)
	return ip
}

// At is the stretch at factor times the track's rate.
func (ip *Interpolator) At(factor int) *Rate { return ip.rates[bits.TrailingZeros(uint(factor))] }

// Frames is how many frames the stretch has.
func (ip *Interpolator) Frames() int { return ip.frames }

// Room is how many frames can be pushed before some must be dropped.
func (ip *Interpolator) Room() int { return ip.most - ip.frames }

// Push appends x, at most Room frames.
func (ip *Interpolator) Push(x []float64) {
	copy(ip.rates[0].values[ip.frames:], x)
	ip.grow(len(x))
}

// PushZeros appends n frames of silence, at most Room.
func (ip *Interpolator) PushZeros(n int) {
	clear(ip.rates[0].values[ip.frames : ip.frames+n])
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
	for l, r := range ip.rates {
		copy(r.peaks, r.peaks[n/Tile:])
		copy(r.bends, r.bends[min(n/Tile, len(r.bends)):])
		ip.eachFilled(l, n/Tile, func(first, end int) {
			copy(r.values[(first*Tile-n)<<l:], r.values[first*Tile<<l:end*Tile<<l])
		})
	}
	copy(ip.filled, ip.filled[n/Tile:])
	ip.frames -= n
	ip.first -= n
	if ip.end != math.MaxInt {
		ip.end -= n
	}
}

// eachFilled calls f for each run of tiles, from one on, that hold values of a level.
func (ip *Interpolator) eachFilled(level, from int, f func(first, end int)) {
	for t := from; t*Tile < ip.frames; t++ {
		first := t
		for t*Tile < ip.frames && ip.filled[t]>>level&1 != 0 {
			t++
		}
		if t > first {
			f(first, t)
		}
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
	x := ip.rates[0].values[from:]
	for i := max(ip.first-from, 0); i < min(ip.end-from, len(r)); i++ {
		x[i] -= r[i]
	}
	for t := tile - dependence; t <= tile+dependence; t++ {
		ip.forget(t, onlySignal)
	}
}

// RemoveTwice takes off the signal in a tile what of something band-limited lies at its frames, and off its
// values at twice the rate, where they are known, also what lies halfway to the next frames. What it leaves
// is all there only once the tiles around have lost their part of the same.
func (ip *Interpolator) RemoveTwice(tile int, at, between []float64) {
	if from := (tile - dependence) * Tile; from < ip.first || (tile+dependence+1)*Tile > ip.end {
		ip.Remove(tile, at) // what is cut off at the track's ends is not band-limited
		return
	}
	x := ip.rates[0].values[tile*Tile:][:Tile]
	for i, v := range at[:Tile] {
		x[i] -= v
	}
	if ip.filled[tile]>>1&1 != 0 {
		y := ip.rates[1].values[2*Tile*tile:][:2*Tile]
		for i, v := range between[:Tile] {
			y[2*i] = x[i]
			y[2*i+1] -= v
		}
	}
	ip.forget(tile, onlySignal<<1|onlySignal)
}

// onlySignal says of a tile that nothing but the signal itself is known of it.
const onlySignal = 1

// forget drops what is known of a tile but the levels of which the bits are set.
func (ip *Interpolator) forget(t int, keep uint8) {
	ip.filled[t] &= keep
	ip.filled[t] |= onlySignal
	for _, r := range ip.rates {
		r.peaks[t] = -1
		if t+1 < len(r.peaks) {
			r.peaks[t+1] = -1 // and its second differences, the first of which begin in t
		}
	}
}

// Signal is the stretch itself.
func (ip *Interpolator) Signal() []float64 { return ip.rates[0].values[:ip.frames] }
