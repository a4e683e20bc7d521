package meter

import (
	"fmt"
	"slices"

	"ledgerline/stages"
	"ledgerline/stages/kernel"
)

// ShortMeter reads the true peak of a signal as meters with a short interpolation filter do: the largest
// magnitude of what the filter makes, over all channels, with no curve laid between its values. It is not
// safe for use by several goroutines at once, keeps about 1100 frames of each channel, and allocates
// nothing as it reads.
//
// The signal is zero before its first frame and after its last. Samples that are not numbers or are
// infinite count as 0, and a magnitude beyond 1e100 as 1e100.
type ShortMeter struct {
	*shortSignal
	filter *shortFilter
	top    float64
}

// A shortSignal is what short meters keep of the signal that they read.
type shortSignal struct {
	readers  []*ShortMeter
	fill     int // frames of the stretch that are there
	channels []shortChannel
	tamed    bool         // samples have been changed before they were reckoned with
	after    stages.Block // what comes after the signal, see After; nil: silence
}

// shortChannel is what is kept of one channel: the cell before the stretch, and the stretch that is being
// filled. As in a channel they may be a part of a caller's block.
type shortChannel struct {
	x, own       []float64
	peaks, bends []float64 // of the cells, see channel
}

// shortHistory is how much is kept before a stretch: more than any filter looks back, in whole cells.
const shortHistory = cellFrames

// NewBS1770 returns a meter of the 48-tap, four times interpolating filter of ITU-R BS.1770-5, Annex 2,
// the same at every rate. It panics if there is no channel.
func NewBS1770(channels int) *ShortMeter { return newShort(channels, bs1770())[0] }

// NewSinc49 returns a meter of a Hann-windowed sinc of 49 taps: four times interpolating below 96 kHz,
// twice below 192 kHz, none (the sample peak) from there on. rate is in frames a second. It panics if
// there is no channel or the rate is not positive.
func NewSinc49(rate, channels int) *ShortMeter { return newShort(channels, sinc49Of(rate))[0] }

// NewShort returns both meters, which read one signal: what either is told the other is told, too. It panics
// where NewSinc49 does.
func NewShort(rate, channels int) (bs1770By, sinc49By *ShortMeter) {
	both := newShort(channels, bs1770(), sinc49Of(rate))
	return both[0], both[1]
}

func sinc49Of(rate int) *shortFilter {
	if rate <= 0 {
		panic(fmt.Sprintf("meter: rate %d Hz is not positive", rate))
	}
	return sinc49(rate)
}

// newShort returns a meter of each filter, all of one signal.
func newShort(channels int, filters ...*shortFilter) []*ShortMeter {
	if channels <= 0 {
		panic("meter: no channels")
	}
	s := &shortSignal{channels: make([]shortChannel, channels)}
	const cells = 1 + stretchCells
	for c := range s.channels {
		own := make([]float64, cells*cellFrames)
		s.channels[c] = shortChannel{
			x: own, own: own, peaks: make([]float64, cells), bends: make([]float64, cells),
		}
	}
	for _, f := range filters {
		s.readers = append(s.readers, &ShortMeter{shortSignal: s, filter: f})
	}
	return s.readers
}

// Write feeds b, any number of frames, to the meter, which keeps nothing of it. It panics if b has another
// number of channels than the meter.
func (s *shortSignal) Write(b stages.Block) {
	if len(b) != len(s.channels) {
		panic(fmt.Sprintf("meter: a block of %d channels for a meter of %d", len(b), len(s.channels)))
	}
	frames := b.Frames()
	for from := 0; from < frames; {
		to := min(frames, from+stretchFrames-s.fill)
		if from >= shortHistory && to-from == stretchFrames && !s.tamed {
			for c := range b {
				s.channels[c].x = b[c][from-shortHistory : to]
			}
		} else {
			s.giveBack(b, from)
			for c := range b {
				copy(s.channels[c].x[shortHistory+s.fill:], b[c][from:to])
			}
		}
		s.fill += to - from
		from = to
		if s.fill == stretchFrames {
			s.read()
		}
	}
	s.giveBack(b, frames)
}

// giveBack keeps what is before a frame of a block, see Meter.giveBack.
func (s *shortSignal) giveBack(b stages.Block, from int) {
	for i := range s.channels {
		if c := &s.channels[i]; !c.has() {
			c.keep(b[i][from-shortHistory : from])
		}
	}
}

func (c *shortChannel) has() bool { return &c.x[0] == &c.own[0] }

func (c *shortChannel) keep(x []float64) {
	if !c.has() {
		c.x = c.own
		copy(c.x, x)
	}
}

// Peak is the largest magnitude so far, linear, 1 = full scale, as if the signal ended here. It does not
// disturb the meter.
func (m *ShortMeter) Peak() float64 {
	end, s := *m, *m.shortSignal
	end.shortSignal, s.readers = &s, []*ShortMeter{&end}
	s.channels = make([]shortChannel, len(m.channels))
	for i, c := range m.channels {
		x := slices.Clone(c.x)
		s.channels[i] = shortChannel{x, x, slices.Clone(c.peaks), slices.Clone(c.bends)}
	}
	if s.after != nil {
		s.readOn()
		return end.top
	}
	// Twice, as what a filter makes goes on after the last frame.
	for range 2 {
		for _, c := range s.channels {
			clear(c.x[shortHistory+s.fill:])
		}
		s.read()
	}
	return end.top
}

// read finds the peaks of a stretch and begins another.
func (s *shortSignal) read() {
	for i := range s.channels {
		s.readChannel(&s.channels[i])
	}
	s.fill = 0
}

func (s *shortSignal) readChannel(c *shortChannel) {
	s.scan(c)
	for _, m := range s.readers {
		m.readSamples(c)
		m.readCells(c, stretchCells)
	}
	if c.has() {
		copy(c.x, c.x[stretchFrames:][:shortHistory])
	}
	c.peaks[0], c.bends[0] = c.peaks[stretchCells], c.bends[stretchCells]
}

// scan finds levels of the cells of the stretch.
func (s *shortSignal) scan(c *shortChannel) {
	if !c.scan() {
		s.tamed = true
		c.keep(c.x)
		var l levels
		l.tame(c.x[shortHistory:][:stretchFrames], 0, 0)
		c.scan()
	}
}

// scan is that of the signal, and reports whether all can be reckoned with.
func (c *shortChannel) scan() bool {
	_, squares := kernel.Scan(c.x[shortHistory-2:], c.peaks[1:], c.bends[1:])
	return squares <= huge*huge // false for NaN
}

// readSamples finds the peak of the stretch's samples, for a filter that passes them.
func (m *ShortMeter) readSamples(c *shortChannel) {
	if m.filter.samples {
		m.top = max(m.top, largest(c.peaks[1:]))
	}
}

// readCells finds the peak of what the filter makes as the frames of so many cells come in.
func (m *ShortMeter) readCells(c *shortChannel, cells int) {
	for k := 1; k <= cells; k++ {
		peak, bend := max(c.peaks[k-1], c.peaks[k]), max(c.bends[k-1], c.bends[k])
		for p := range m.filter.phases {
			if phase := &m.filter.phases[p]; phase.bound(peak, bend) > m.top*slack {
				m.top = max(m.top, phase.largest(c.x, k))
			}
		}
	}
}

// bound is what no magnitude passes that the phase makes of such samples, but for rounding.
func (p *shortPhase) bound(peak, bend float64) float64 {
	return min(float64(p.gain*peak), float64(p.level*peak)+float64(p.bend*bend))
}

// largest is the largest magnitude that the phase makes as the frames of a cell come in.
func (p *shortPhase) largest(x []float64, cell int) float64 {
	var y [cellFrames]float64
	p.filter.Apply(y[:], x[cell*cellFrames-len(p.taps)+1:])
	return kernel.MaxAbs(y[:])
}
