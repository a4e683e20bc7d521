package bandlimit

import (
	"math"
	"slices"
	"sync"

	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

const (
	// A tile is read with so many frames in all, of which so many are before it: as many as Peaks looks at.
	tileFrames = 3 * kernel.Group
	tileBefore = 24

	// wholeTaps make halfway values that are right within 80 dB up to 21.7/44.1 of the rate, and
	// lowTaps those of the low-pass filter.
	wholeTaps = 320
	lowTaps   = 256
	// roughTaps make halfway values that are right within 80 dB up to 20.5/44.1 of the rate.
	roughTaps = 72
	// topTaps make a filter that stops 20/44.1 of the rate by 60 dB and passes 21/44.1, nearTaps one that stops
	// 21.4/44.1 and passes what is near half the rate.
	topTaps  = 160
	nearTaps = 256
)

var (
	wholeHalf = sync.OnceValue(func() *kernel.Filter {
		return tapsAt(wholeTaps, func(t float64) float64 {
			return sinc(t) * kaiser(t/(wholeTaps/2), kaiserBeta(80))
		})
	})
	roughHalf = sync.OnceValue(func() *kernel.Filter {
		return tapsAt(roughTaps, func(t float64) float64 {
			return sinc(t) * kaiser(t/(roughTaps/2), kaiserBeta(80))
		})
	})
	lowHalf   = sync.OnceValue(func() *kernel.Filter { return tapsAt(lowTaps, lowAt) })
	lowFrames = sync.OnceValue(func() *kernel.Filter { return tapsAt(lowTaps+1, lowAt) })
	topOnly   = sync.OnceValue(func() (parts [topStep]*kernel.Filter) {
		var taps [topStep][]float64
		for i, h := range highPass(topTaps, 20.5/44.1) {
			taps[i%topStep] = append(taps[i%topStep], h)
		}
		for i := range parts {
			parts[i] = kernel.NewFilter(taps[i])
		}
		return parts
	})
	nearOnly = sync.OnceValue(func() *kernel.Filter { return kernel.NewFilter(highPass(nearTaps, 21.7/44.1)) })
)

// tapValues are so many values of an even function, a frame apart around 0, and tapsAt a filter of them.
func tapValues(n int, h func(t float64) float64) []float64 {
	taps := make([]float64, n)
	for i := range taps {
		taps[i] = h(float64(i) - float64(float64(n-1)/2))
	}
	return taps
}

func tapsAt(n int, h func(t float64) float64) *kernel.Filter {
	return kernel.NewFilter(tapValues(n, h))
}

// lowAt is the low-pass filter of lowShaping at a time in frames: the transform of a raised cosine in closed
// form, under a window.
func lowAt(t float64) float64 {
	const middle, width = (0.5 + 20.1/44.1) / 2, 0.5 - 20.1/44.1
	flank := math.Pi / 4
	if d := 1 - float64(4*width*width*t*t); math.Abs(d) > 1e-9 {
		flank = portable.CosPi(width*t) / d
	}
	return 2 * middle * sinc(2*middle*t) * flank * kaiser(t/(lowTaps/2+1), 0.5)
}

// highPass is a low-pass filter turned to half the rate.
func highPass(n int, from float64) []float64 {
	cut := 2 * (0.5 - from)
	sign := -1.0
	return tapValues(n+1, func(t float64) float64 {
		sign = -sign
		return sign * cut * sinc(t*cut) * kaiser(t/float64(n/2), kaiserBeta(60))
	})
}

// TileBend times the largest second difference around bounds how far the values that ReadTile and ReadTileLow
// find pass the samples beside them, and TileRest times the largest magnitude around is added for what is
// left of it; see ByParts.
const TileBend, TileRest = 1.0, 0.004

// TopFrames is how many frames Top reads.
const TopFrames = topStep * kernel.Group

// topStep is the step from one value to the next that Top looks at: what lies above 20.5/44.1 of the rate
// beats so slowly that the largest of all values is higher by topRise at most.
const topStep, topRise = 4, 1.15

// Top is about the largest magnitude, not less, of what there is above 20.5/44.1 of the rate in TopFrames
// frames from one of x on.
func (w *WholeBand) Top(x []float64, from int) float64 {
	var parts [topStep][TopFrames/topStep + topTaps/topStep + 1]float64
	var halves [2][2 * len(parts[0])]float64
	x = x[from-topTaps/2:]
	for i := range halves {
		kernel.Evens(halves[i][:], x[i:])
		kernel.Evens(parts[i][:], halves[i][:])
		kernel.Evens(parts[i+2][:len(parts[0])-1], halves[i][1:])
	}
	var out, sum [kernel.Group]float64
	for i, f := range topOnly() {
		f.Apply(out[:], parts[i][:])
		kernel.AddScaled(sum[:], out[:], 1)
	}
	return topRise * kernel.MaxAbs(sum[:])
}

// Near is the largest magnitude of what there is nearer to half the rate than 21.7/44.1, in the tile that
// begins at frame from of x.
func (w *WholeBand) Near(x []float64, from int) float64 {
	out := w.frames[:Tile]
	nearOnly().Apply(out, x[from-nearTaps/2:])
	return kernel.MaxAbs(out)
}

// NearMost is the largest magnitude of that in kernel.Group frames from one of x on.
func NearMost(x []float64, from int) float64 {
	var out [kernel.Group]float64
	nearOnly().Apply(out[:], x[from-nearTaps/2:])
	return kernel.MaxAbs(out[:])
}

// ReadTile reads a tile of a stretch, for Peaks of that tile: by filters, which are long enough but for what
// is near half the rate.
func (w *WholeBand) ReadTile(x []float64, tile int) {
	at := Tile*tile - tileBefore
	wholeHalf().Apply(w.half[:tileFrames], x[at+1-wholeTaps/2:])
	kernel.Zip(w.whole.values[2*at:], x[at:at+tileFrames], w.half[:tileFrames])
}

// ReadTileLow does the same of what the low-pass filter leaves.
func (w *WholeBand) ReadTileLow(x []float64, tile int) {
	at := Tile*tile - tileBefore
	half, frames := w.half[:tileFrames], w.frames[:tileFrames]
	lowHalf().Apply(half, x[at+1-lowTaps/2:])
	lowFrames().Apply(frames, x[at-lowTaps/2:])
	kernel.Zip(w.low.values[2*at:], frames, half)
}

// Rough is about the largest magnitude between the samples of a tile, not less but for what there is above
// 20.5/44.1 of the rate. A peak passes the higher one of two values at twice the rate by no more than a sixth
// of their largest second difference.
func (w *WholeBand) Rough(x []float64, tile int) float64 {
	at := Tile*tile - tileBefore
	half, u := w.half[:tileFrames], w.twice[:]
	roughHalf().Apply(half, x[at+1-roughTaps/2:])
	kernel.Zip(u, x[at:at+tileFrames], half)
	var peaks, bends [2 * Tile / kernel.Cell]float64
	u = u[2*tileBefore:][:2+2*Tile]
	kernel.Scan(u, peaks[:], bends[:])
	return float64(kernel.MaxAbs(u)*(1+3e-4)) + float64(slices.Max(bends[:])/6)
}
