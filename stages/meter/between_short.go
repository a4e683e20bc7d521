package meter

import "ledgerline/stages"

// Before tells what came before the signal, as Meter.Before does. What the filter makes as the signal's own
// frames come in is the signal's.
func (m *ShortMeter) Before(b stages.Block, _ int64) {
	n := min(b.Frames(), shortHistory)
	for i := range m.channels {
		c := &m.channels[i]
		last := b[i][b.Frames()-n:]
		copy(c.x[shortHistory-n:], last)
		var l levels
		l.tame(c.x[:shortHistory], 0, 0)
		c.peaks[0] = largestMagnitude(c.x[:shortHistory])
		c.bends[0] = 4 * c.peaks[0] // a second difference is no greater
	}
}

// After tells what comes after the signal, as Meter.After does.
func (m *ShortMeter) After(b stages.Block) {
	if m.after == nil {
		m.after = stages.NewBlock(len(b), 0)
	}
	n := min(b.Frames(), stretchFrames-m.after.Frames())
	for c := range b {
		m.after[c] = append(m.after[c], b[c][:n]...)
	}
}

func largestMagnitude(x []float64) (top float64) {
	for _, v := range x {
		top = max(top, v, -v)
	}
	return top
}

// readOn reads the frames that wait for their stretch to fill, and the rest of their last cell as it goes on.
func (m *ShortMeter) readOn() {
	cells := (m.fill + cellFrames - 1) / cellFrames
	for i := range m.channels {
		c := &m.channels[i]
		rest := c.x[shortHistory+m.fill:]
		clear(rest)
		if m.filter.samples {
			c.scan()
			m.top = max(m.top, largest(c.peaks[1:]))
		}
		copy(rest[:stretchFrames-m.fill], m.after[i])
		c.scan()
		m.readCells(c, cells)
	}
}
