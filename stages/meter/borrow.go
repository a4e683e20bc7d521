package meter

import "ledgerline/stages"

// A stretch that lies in a block as a whole, with its history before it, is read where it lies: only the
// others, and the history of what is to come, are copied.

// mayBorrow says whether the frames of a block from one to another may be read there. Once a sample has been
// changed the block no longer has what came before.
func (m *Meter) mayBorrow(from, to int) bool {
	return from >= m.history && to-from == stretchFrames && !m.tamed
}

// borrow has the channels read a stretch of a block.
func (m *Meter) borrow(b stages.Block, from, to int) {
	for i := range m.channels {
		m.channels[i].x = b[i][from-m.history : to]
	}
}

// giveBack keeps what is before a frame of a block, so that the block is no longer needed.
func (m *Meter) giveBack(b stages.Block, from int) {
	for i := range m.channels {
		if c := &m.channels[i]; !c.has() {
			c.keep(b[i][from-m.history : from])
		}
	}
}

// has says whether the channel's samples are its own.
func (c *channel) has() bool { return &c.x[0] == &c.own[0] }

// keep makes samples the channel's own.
func (c *channel) keep(x []float64) {
	if !c.has() {
		c.x = c.own
		copy(c.x, x)
	}
}
