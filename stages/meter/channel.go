package meter

import (
	"math/bits"
	"slices"

	"ledgerline/stages/kernel"
)

// A signal is read in stretches of a number of cells, counted from its first frame.
// What is worked out between a cell's samples, and what that can feel, lies within the
// cell and the nearby cells to each side.
const (
	cellFrames    = kernel.Cell
	stretchCells  = 16
	stretchFrames = stretchCells * cellFrames

	nearby = 3
)

// channel is what a meter keeps of one channel.
type channel struct {
	// x is history, then the stretch that is being filled. The history is as many whole
	// cells as are still needed of what came before. It is own, or, while a stretch is read where it
	// lies, a part of a caller's block.
	x, own []float64
	sum    float64

	// Of the cells of x:
	peaks []float64 // the largest magnitude
	bends []float64 // the largest second difference
	edges []float64 // how much ends in it that is near half the rate (see findEdge); -1: not yet known

	whole *wholeBand // nil: not asked for
}

// historyFrames is how much is kept before a stretch: what is nearby, by which the
// search for the true peak stays behind, and what that looks back at, or a segment that
// is not yet weighed.
func historyFrames(rate int) int {
	cells := func(frames int) int { return (frames + cellFrames - 1) / cellFrames }
	return max(nearby+cells(lead+halfTaps), cells(rate/perSecond+1)) * cellFrames
}

func newChannel(history int) channel {
	n := history/cellFrames + stretchCells
	own := make([]float64, n*cellFrames)
	return channel{
		x: own, own: own,
		peaks: make([]float64, n), bends: make([]float64, n), edges: make([]float64, n),
	}
}

// scan reads the stretch and returns its sum and sum of squares, and whether all of it
// can be reckoned with: there is something to tame where it cannot.
func (c *channel) scan() (sum, squares float64, ok bool) {
	first := len(c.peaks) - stretchCells
	sum, squares = kernel.Scan(c.x[first*cellFrames-2:], c.peaks[first:], c.bends[first:])
	for k := first; k < len(c.edges); k++ {
		c.edges[k] = -1
	}
	if c.whole != nil {
		c.whole.forget(first)
	}
	return sum, squares, squares <= huge*huge // false for NaN
}

// cell is the samples of a cell.
func (c *channel) cell(k int) []float64 { return c.x[k*cellFrames:][:cellFrames] }

// interpolate searches for a true peak, close after the end of the stretch. It marks the cells in which
// something may have passed the floor.
func (c *channel) interpolate(t *truePeak) (marked Mark) {
	end := len(c.peaks) - nearby
	first := end - stretchCells
	limit := t.limit(&t.interpolator.cell, around{bend: largest(c.bends[first-nearby:])})
	if largest(c.peaks[first:]) <= limit {
		return 0
	}
	peaks, bends := nearest(c.peaks, first), nearest(c.bends, first)
	t.begin()
	for k := max(first, t.from); k < end; k++ {
		if t.end > 0 && k > t.end {
			break
		}
		peak, loud, bend := max(c.peaks[k], c.peaks[k+1]), peaks[k-first], bends[k-first]
		if peak > t.limit(&t.interpolator.cell, around{bend: bend}) && loud*t.interpolator.gain > t.floor()*slack {
			t.lead.found = false
			t.search(c, k)
			if t.lead.found {
				marked |= 1 << (k - first)
			}
		}
	}
	return marked
}

// interpolateMarked is interpolate for the marked cells only.
func (c *channel) interpolateMarked(t *truePeak, marked Mark) {
	if marked == everywhere {
		c.interpolate(t)
		return
	}
	first := len(c.peaks) - nearby - stretchCells
	t.begin()
	for ; marked != 0; marked &= marked - 1 {
		t.search(c, first+bits.TrailingZeros16(uint16(marked)))
	}
}

// nearest is, for each cell of a stretch from first on, the largest value of the cells
// nearby.
func nearest(x []float64, first int) (top [stretchCells]float64) {
	x = x[first-nearby:]
	var fours [stretchCells + nearby]float64 // the largest of four cells
	for i := range fours {
		fours[i] = max(max(x[i], x[i+1]), max(x[i+2], x[i+3]))
	}
	for i := range top {
		top[i] = max(fours[i], fours[i+nearby])
	}
	return top
}

// around is what the signal is like around a cell.
func (c *channel) around(k int, edge *[kernel.EdgeTaps]float64) around {
	const before = kernel.EdgeTaps - 1
	a := around{bend: max(c.bends[k-1], c.bends[k], c.bends[k+1])}
	for i, share := range shares {
		at := k - nearby + i
		if c.edges[at] < 0 {
			c.edges[at] = kernel.Edge((*[before + cellFrames]float64)(c.x[at*cellFrames-before:]), edge)
		}
		a.edge += float64(share * c.edges[at])
	}
	return a
}

func largest(x []float64) (top float64) {
	for _, v := range x {
		if v > top {
			top = v
		}
	}
	return top
}

// shift makes room for the next stretch. Only own samples move.
func (c *channel) shift() {
	if c.has() {
		copy(c.x, c.x[stretchFrames:])
	}
	for _, of := range [][]float64{c.peaks, c.bends, c.edges} {
		copy(of, of[stretchCells:])
	}
	if c.whole != nil {
		c.whole.shift()
	}
}

func (c channel) clone() channel {
	whole := c.whole
	if c = c.cloneSamples(); whole != nil {
		c.whole = whole.clone()
	}
	return c
}

// cloneSamples is a clone without what reads right up to half the rate.
func (c channel) cloneSamples() channel {
	for _, x := range []*[]float64{&c.own, &c.peaks, &c.bends, &c.edges} {
		*x = slices.Clone(*x)
	}
	c.x, c.whole = c.own, nil
	return c
}
