package meter

// A segment is read in cells, for which the true peak knows the largest
// magnitude and second difference. What a cell's peaks can feel lies within
// it and the cell before.
const (
	cellFrames  = 2 * (reach + 1)
	longestCell = 2*cellFrames - 1

	// lag is how far the search for the true peak stays behind the last frame.
	lag = reach + 1
	// history is what stays before a segment: the longest cell before it and
	// the two samples that its first second difference needs.
	history = longestCell + 2
)

type cell struct {
	from, to int // in the channel's buffer
	squares  float64
	peak     float64 // the largest magnitude
	bend     float64 // the largest second difference that ends in it; -1: not yet known
}

// channel is what a meter keeps of one channel.
type channel struct {
	x     []float64 // history, the segment being filled, and room for silence behind the last
	cells []cell    // the last of the segment before, then those of this one
	sum   float64
	state weightState
}

func newChannel(longest int) channel {
	return channel{
		x:     make([]float64, history+longest+lag+lag),
		cells: []cell{{from: history - cellFrames, to: history}},
	}
}

// scan reads the segment's frames and returns their sum, and whether all of
// them can be reckoned with: there is something to tame where they cannot.
func (c *channel) scan(frames int) (sum float64, ok bool) {
	c.cells, ok = c.cells[:1], true
	end := history + frames
	for from := history; from < end; {
		to := from + cellFrames
		if end-to < cellFrames {
			to = end
		}
		s, squares, peak := scan(c.x[from:to])
		c.cells = append(c.cells, cell{from, to, squares, peak, -1})
		sum += s
		ok = ok && squares <= huge*huge // false for NaN
		from = to
	}
	return sum, ok
}

// interpolate searches the segment's cells for a true peak, the lag behind.
func (c *channel) interpolate(t *truePeak) {
	for i := range c.cells[1:] {
		before, now := &c.cells[i], &c.cells[i+1]
		loud := max(before.peak, now.peak)
		if !t.within(loud) {
			t.search(c.x, now.from-lag, now.to-lag, loud, max(c.bend(before), c.bend(now)))
		}
	}
}

func (c *channel) bend(k *cell) float64 {
	if k.bend < 0 {
		k.bend = sharpest(c.x[k.from-2 : k.to])
	}
	return k.bend
}

// shift makes room for the next segment behind the given one.
func (c *channel) shift(frames int) {
	copy(c.x, c.x[frames:frames+history])
	last := c.cells[len(c.cells)-1]
	last.from, last.to = last.from-frames, last.to-frames
	c.cells[0] = last
}
