package meter

import (
	"math"

	"ledgerline/stages"
	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// A signal that is cut out of a longer one has no silence around it: its true peak near its ends is that of
// the longer one. Before and After tell a meter what is there. All other figures are of the signal alone.

// Context is how many frames to each side a meter of that rate can make use of.
func Context(rate int) int {
	return max(historyFrames(rate)+stretchFrames, bandlimit.WholeFrames, wholeAfter)
}

// Before tells that the signal is cut out of a longer one, of which a number of frames are before it, and
// what the last of these are, as much of it as is known, before the first Write. A peak between the last of
// them and the signal's first frame is not the signal's. A meter that is told so neither leads nor follows.
// It panics if b has another number of channels than the meter.
//
// The longer signal's cells and stretches are counted from its own first frame. So that the largest true peak
// of its parts is its own, to the last bit, another meter reads true peaks alone, in these.
func (m *Meter) Before(b stages.Block, frames int64) {
	m.around(b)
	m.across = New(Options{Rate: m.o.Rate, Weights: m.o.Weights, WholeBand: m.o.WholeBand})
	m.across.begin(b, frames)
	for i := range m.channels {
		m.channels[i].whole = nil
	}
}

// begin readies a meter that reads true peaks alone, of what follows such frames.
func (m *Meter) begin(b stages.Block, frames int64) {
	m.peaksOnly = true
	m.fill = int(frames % stretchFrames)
	m.foreign = m.fill
	at := m.history + m.fill
	m.peak.from, m.peak.fromPlaces = at/cellFrames, ^uint64(0)<<(at%cellFrames)
	for i := range m.channels {
		c := &m.channels[i]
		m.putLast(c.x[:at], b[i])
		cells := m.history / cellFrames
		kernel.Scan(c.x[cellFrames-2:m.history], c.peaks[1:cells], c.bends[1:cells])
		for k := range cells {
			c.edges[k] = -1
		}
		if w := c.whole; w != nil {
			w.forget(0)
			w.fill += int((frames - int64(m.fill)) % wholeHop)
			m.putLast(w.x[:w.fill], b[i][:max(0, len(b[i])-m.fill)])
		}
	}
}

// putLast puts the last frames of src at the end of dst.
func (m *Meter) putLast(dst, src []float64) {
	n := min(len(dst), len(src))
	m.put(dst[len(dst)-n:], src[len(src)-n:])
}

// After tells what comes after the signal: b follows what it was told last. No Write may follow. A peak
// between the signal's last frame and the next is still the signal's.
func (m *Meter) After(b stages.Block) {
	m.around(b)
	if m.across != nil {
		m.across.After(b)
		return
	}
	if m.after == nil {
		m.after = stages.NewBlock(len(b), 0)
	}
	n := min(b.Frames(), Context(m.o.Rate)-m.after.Frames())
	for c := range b {
		at := len(m.after[c])
		m.after[c] = append(m.after[c], b[c][:n]...)
		m.put(m.after[c][at:], b[c][:n])
	}
}

// around checks frames that are not the signal's.
func (m *Meter) around(b stages.Block) {
	if len(b) != len(m.channels) {
		panic("meter: a block of another number of channels than the meter's")
	}
}

// put copies frames that are not the signal's, fit to be reckoned with.
func (m *Meter) put(dst, src []float64) {
	copy(dst, src)
	for i, v := range dst {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			dst[i] = 0
		} else if a := math.Abs(v); a > m.peak.beyond {
			dst[i] = math.Copysign(min(a, huge), v)
			m.peak.beyond = min(a, huge)
		}
	}
}

// readOn reads the frames that wait for their stretch to fill, and looks for peaks there with what comes
// after them in place of silence.
func (m *Meter) readOn() {
	for i := range m.channels {
		m.scan(&m.channels[i], i)
	}
	m.raise()
	m.weigh()
	if m.start+int64(m.fill) == 0 {
		return // there is no signal
	}
	end := m.history + m.fill - 1 // of the signal's last frame, the place in x
	m.peak.end, m.peak.endPlaces = end/cellFrames, ^uint64(0)>>(cellFrames-1-end%cellFrames)
	used := m.fillUp(m.fill, 0)
	m.findPeaks()
	m.pushWhole()
	m.next()
	m.peak.end -= stretchCells
	used = m.fillUp(0, used)
	if m.peak.end > 0 {
		m.findPeaks()
	}
	m.pushWhole()
	m.endWhole(used)
}

// fillUp fills the stretch from a frame on with what comes after the signal, from its given frame on, and
// returns how much of that is used.
func (m *Meter) fillUp(from, used int) int {
	for i := range m.channels {
		c := &m.channels[i]
		to := c.x[m.history+from:]
		clear(to[copy(to, m.after[i][min(used, len(m.after[i])):]):])
		c.scan()
	}
	return used + stretchFrames - from
}
