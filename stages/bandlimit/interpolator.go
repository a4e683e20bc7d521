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
	frames = 4096 + 2*Reach
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
// Drop. Before the track's first frame and behind its last the signal is zero.
type Interpolator struct {
	factor, levels int
	memory         []float64      // of the phases, one after the other
	phases         [][]float64    // phases[p][i] is the value at frame i + p/factor
	pairs          []kernel.Pairs // by phase: what a value of it is computed from
	frames         int            // pushed and not dropped
	first, end     int            // of the track, in frames of the stretch
	done           []uint8        // levels computed of each tile
	peak           [][]float64    // peak[l][tile]: the largest magnitude among the values of level l alone, -1 = not known
	bounds         []float64      // of any value, in terms of the largest of the levels up to l around it
}

// NewInterpolator returns an interpolator of the factor 2, 4, 8 or 16.
func NewInterpolator(factor int) *Interpolator {
	levels := bits.TrailingZeros(uint(factor))
	ip := &Interpolator{factor: factor, levels: levels, bounds: boundsOf(levels)}
	ip.phases = make([][]float64, factor)
	ip.pairs = make([]kernel.Pairs, factor)
	ip.memory = make([]float64, factor*frames)
	for p := range ip.phases {
		ip.phases[p] = ip.memory[p*frames:][:frames]
	}
	for level := 1; level <= levels; level++ {
		step := factor >> level
		for p := step; p < factor; p += 2 * step {
			ip.pairs[p] = pairsOf(p, step, factor, halfBands[level-1])
		}
	}
	ip.done = make([]uint8, len(ip.phases[0])/Tile)
	ip.peak = make([][]float64, levels+1)
	for l := range ip.peak {
		ip.peak[l] = make([]float64, len(ip.done))
	}
	ip.end = math.MaxInt
	ip.PushZeros(Reach)
	return ip
}

// Frames is how many frames the stretch has.
func (ip *Interpolator) Frames() int { return ip.frames }

// Room is how many frames can be pushed before some must be dropped.
func (ip *Interpolator) Room() int { return len(ip.phases[0]) - ip.frames }

// Push appends x, at most Room frames.
func (ip *Interpolator) Push(x []float64) {
	copy(ip.phases[0][ip.frames:], x)
	ip.grow(len(x))
}

// PushZeros appends n frames of silence, at most Room.
func (ip *Interpolator) PushZeros(n int) {
	clear(ip.phases[0][ip.frames : ip.frames+n])
	ip.grow(n)
}

func (ip *Interpolator) grow(n int) {
	for t := ip.frames / Tile; t*Tile < ip.frames+n; t++ {
		ip.done[t] = 0
		for l := range ip.peak {
			ip.peak[l][t] = -1
		}
	}
	ip.frames += n
}

// Drop forgets the first n frames, a whole number of tiles.
func (ip *Interpolator) Drop(n int) {
	for p := range ip.phases {
		copy(ip.phases[p], ip.phases[p][n:ip.frames])
	}
	copy(ip.done, ip.done[n/Tile:])
	for l := range ip.peak {
		copy(ip.peak[l], ip.peak[l][n/Tile:])
	}
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
	x := ip.phases[0][from:]
	for i := max(ip.first-from, 0); i < min(ip.end-from, len(r)); i++ {
		x[i] -= r[i]
	}
	for t := tile - dependence; t <= tile+dependence; t++ {
		ip.forget(t, true)
	}
}

// Signal is the stretch itself.
func (ip *Interpolator) Signal() []float64 { return ip.phases[0][:ip.frames] }

// At is the value at m/factor frames from the stretch's first frame. Its tile
// has been filled.
func (ip *Interpolator) At(m int) float64 { return ip.phases[m%ip.factor][m/ip.factor] }

// Phase is the values at i + p/factor for each frame i. Only filled tiles hold
// values.
func (ip *Interpolator) Phase(p int) []float64 { return ip.phases[p][:ip.frames] }

// Peak is the largest magnitude among the values of a tile, all levels filled in.
func (ip *Interpolator) Peak(tile int) float64 {
	m := 0.0
	for l := range ip.peak {
		m = max(m, ip.levelPeak(tile, l))
	}
	return m
}

// MayPass reports whether a value of the tile may pass the ceiling. It is
// never false where one does: it bounds the values by the largest neighbour
// times the sum of the absolute filter coefficients, with as few levels of
// interpolation as suffice. Where it is true the tile is filled.
func (ip *Interpolator) MayPass(tile int, ceiling float64) bool {
	around := dependence
	for l := 0; l < ip.levels; l++ {
		m := 0.0
		for t := tile - around; t <= tile+around; t++ {
			for k := 0; k <= l; k++ {
				m = max(m, ip.levelPeak(t, k))
			}
		}
		if m*ip.bounds[l] <= ceiling {
			return false
		}
		around = 1
	}
	ip.Fill(tile)
	return true
}

// levelPeak is the largest magnitude among the values that level l adds to the tile.
func (ip *Interpolator) levelPeak(tile, l int) float64 {
	if p := ip.peak[l][tile]; p >= 0 {
		return p
	}
	ip.fill(tile, l)
	m := 0.0
	from, to := tile*Tile, (tile+1)*Tile
	step := ip.factor >> l
	if l == 0 {
		m = kernel.MaxAbs(ip.phases[0][from:to])
	} else {
		for p := step; p < ip.factor; p += 2 * step {
			m = max(m, kernel.MaxAbs(ip.phases[p][from:to]))
		}
	}
	ip.peak[l][tile] = m
	return m
}

// Fill computes all phases of the tile. Reach frames behind it have been pushed.
func (ip *Interpolator) Fill(tile int) { ip.fill(tile, ip.levels) }

func (ip *Interpolator) fill(tile, level int) {
	if int(ip.done[tile]) >= level {
		return
	}
	if level > 1 {
		ip.fill(tile-1, level-1)
		ip.fill(tile, level-1)
		ip.fill(tile+1, level-1)
	}
	step := ip.factor >> level
	for p := step; p < ip.factor; p += 2 * step {
		ip.pairs[p].Sum(ip.phases[p][tile*Tile:], ip.memory, tile*Tile)
	}
	ip.done[tile] = uint8(level)
}

// pairsOf is what a value of phase p is computed from: it is halfway between
// the values a step to the left and a step to the right.
func pairsOf(p, step, factor int, h halfBand) kernel.Pairs {
	left, right := make([]int, len(h)), make([]int, len(h))
	place := func(m int) int {
		phase := (m%factor + factor) % factor
		return phase*frames + (m-phase)/factor
	}
	for k := range h {
		left[k], right[k] = place(p-step*(2*k+1)), place(p+step*(2*k+1))
	}
	return kernel.NewPairs(h, left, right)
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
