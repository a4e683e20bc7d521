package bandlimit

import (
	"sync"

	"ledgerline/stages/kernel"
)

// A Decimator brings a signal at factor times the track's rate back to it, a tile at a time and only where
// there is any.
//
// Half-band filters halve the rate down to twice the track's. They are those of the way up, which leave the
// transition of the last step whole, and so are short. The filter of the last step is a sinc under a Kaiser
// window: it passes 20/44.1 of the track's rate and has fallen by 142 dB at 21.8/44.1, before half the rate,
// so that nothing folds back at all. (A filter that folds only beyond the pass band would do for what is
// heard here, but a hold after it takes peaks as they come, and would carry the fold into the pass band.)
type Decimator struct {
	factor   int
	halvings []*halving // the first of them halves the high rate
	rows     []float64  // of the last step, for kernel.AddStaggered
}

const (
	side  = 115 // frames to one side of a value at twice the track's rate that it reaches
	group = 16  // such values that are brought back at once

	// Before and After are how many frames before a tile and after it Add may write to.
	Before = side - 1
	After  = kernel.Staggered - Before - group/2
	// Margin is how many frames to either side of a tile Add looks at, at most.
	Margin = 14
)

// NewDecimator makes one with a gain of 1 at DC, for a factor of 2, 4, 8 or 16.
func NewDecimator(factor int) *Decimator {
	d := &Decimator{factor: factor, rows: lastStep()}
	for f, level := 4, 1; f <= factor; f, level = 2*f, level+1 {
		d.halvings = append([]*halving{newHalving(&Clean[level], f)}, d.halvings...)
	}
	return d
}

// lastStep has a row for each value of four frames: what that value adds to the frames from Before before the
// first of them on.
var lastStep = sync.OnceValue(func() []float64 {
	const reach, values, before, width = 2 * side, group / 2, 8, 8 + kernel.Staggered
	const band = (20 + 21.78) / 44.1 // both edges of the transition, twice its middle
	const end = side - 0.5           // of the window: the last frame that a value between two frames reaches
	beta := kaiserBeta(142.5)
	rows, sum := make([]float64, values*width), 0.0
	for phase := range 2 {
		for i := range reach {
			t := float64(i-side+1) - float64(float64(phase)/2)
			h := float64(sinc(t*band) * kaiser(t/end, beta))
			sum += h
			for k := phase; k < values; k += 2 {
				rows[k*width+before+k/2+i] = h
			}
		}
	}
	for i := range rows {
		rows[i] /= sum
	}
	return rows
})

// margin is how many frames to either side of a tile are needed at a multiple of the rate. A halving takes
// more of them than it reaches.
func margin(factor int) int { return 16 - 32/factor }

// Add adds to y what the values of a tile make at the track's rate, where they are not 0. x has factor values
// for each frame of the tile and of Margin frames to either side; those at the sides count with the tiles
// they are in. y begins Before frames before the tile and ends After frames after it.
func (d *Decimator) Add(y, x []float64) {
	x = x[(Margin-margin(d.factor))*d.factor:][:(Tile+2*margin(d.factor))*d.factor]
	for _, h := range d.halvings {
		x = h.halve(x)
	}
	var mask [2 * Tile / 64]uint64
	kernel.NonZero(mask[:], x)
	for i := 0; i < len(x); i += group {
		if mask[i/64]>>(i%64)&(1<<group-1) != 0 {
			kernel.AddStaggered(y[i/2:][:kernel.Staggered], d.rows, (*[group]float64)(x[i:]))
		}
	}
}

// A halving is a doubler that works backwards.
type halving struct {
	filter    *kernel.Filter
	first     int       // the value of the high rate that the first at half the rate lies at
	odd, even []float64 // scratch
	sums      []float64
}

// newHalving halves factor times the rate for a tile and the margin that is needed of what it makes.
func newHalving(d *Doubler, factor int) *halving {
	taps := make([]float64, len(d.Taps))
	for i, h := range d.Taps {
		taps[i] = h / 2
	}
	n := (Tile + 2*margin(factor/2)) * factor / 2
	return &halving{
		filter: kernel.NewFilter(taps), first: (margin(factor) - margin(factor/2)) * factor,
		odd: make([]float64, n+len(taps)), even: make([]float64, n), sums: make([]float64, n),
	}
}

// halve is x at half the rate until the next call.
func (h *halving) halve(x []float64) []float64 {
	odd := h.odd[:len(h.odd)-1] // its last value has no tap
	kernel.Evens(odd, x[h.first-(len(odd)-len(h.sums)):])
	h.filter.Apply(h.sums, h.odd)
	kernel.Evens(h.even, x[h.first:])
	kernel.AddScaled(h.sums, h.even, 0.5)
	return h.sums
}
