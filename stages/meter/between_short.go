package meter

import "ledgerline/stages"

// Before tells what came before the signal, as Meter.Before does. What the filter makes as the signal's own
// frames come in is the signal's.
func (s *shortSignal) Before(b stages.Block, _ int64) {
	n := min(b.Frames(), shortHistory)
	for i := range s.channels {
		c := &s.channels[i]
		last := b[i][b.Frames()-n:]
		copy(c.x[shortHistory-n:], last)
		var l levels
		l.tame(c.x[:shortHistory], 0, 0)
		c.peaks[0] = largestMagnitude(c.x[:shortHistory])
		c.bends[0] = 4 * c.peaks[0] // a second difference is no greater
	}
}

// After tells what comes after the signal, as Meter.After does.
func (s *shortSignal) After(b stages.Block) {
	if s.after == nil {
		s.after = stages.NewBlock(len(b), 0)
	}
	n := min(b.Frames(), stretchFrames-s.after.Frames())
	for c := range b {
		s.after[c] = append(s.after[c], b[c][:n]...)
	}
}

func largestMagnitude(x []float64) (top float64) {
	for _, v := range x {
		top = max(top, v, -v)
	}
	return top
}

// readOn reads the frames that wait for their stretch to fill, and the rest of their last cell as it goes on.
func (s *shortSignal) readOn() {
	cells := (s.fill + cellFrames - 1) / cellFrames
	for i := range s.channels {
		c := &s.channels[i]
		rest := c.x[shortHistory+s.fill:]
		clear(rest)
		s.scan(c)
		for _, m := range s.readers {
			m.readSamples(c)
		}
		copy(rest[:stretchFrames-s.fill], s.after[i])
		s.scan(c)
		for _, m := range s.readers {
			m.readCells(c, cells)
		}
	}
}
