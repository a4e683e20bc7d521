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
	filter   *shortFilter
	fill     int // frames of the stretch that are there
	channels []shortChannel
	top      float64
	after    stages.Block // what comes after the signal, see After; nil: silence
}

// shortChannel is what is kept of one channel: the cell before the stretch, the stretch that is being
// filled, and as much as a kernel may look beyond.
type shortChannel struct {
	x            []float64
	peaks, bends []float64 // of the cells, see channel
}

// shortHistory is how much is kept before a stretch: more than any filter looks back, in whole cells.
const shortHistory = cellFrames

// NewBS1770 returns a meter of the 48-tap, four times interpolating filter of ITU-R BS.1770-5, Annex 2,
// the same at every rate. It panics if there is no channel.
func NewBS1770(channels int) *ShortMeter { return newShort(bs1770(), channels) }

// NewSinc49 returns a meter of a Hann-windowed sinc of 49 taps: four times interpolating below 96 kHz,
// twice below 192 kHz, none (the sample peak) from there on. rate is in frames a second. It panics if
// there is no channel or the rate is not positive.
func NewSinc49(rate, channels int) *ShortMeter {
	if rate <= 0 {
		panic(fmt.Sprintf("meter: rate %d Hz is not positive", rate))
	}
	return newShort(sinc49(rate), channels)
}

func newShort(f *shortFilter, channels int) *ShortMeter {
	if channels <= 0 {
		panic("meter: no channels")
	}
	m := &ShortMeter{filter: f, channels: make([]shortChannel, channels)}
	const cells = 1 + stretchCells
	for c := range m.channels {
		m.channels[c] = shortChannel{
			x:     make([]float64, cells*cellFrames+kernel.Group),
			peaks: make([]float64, cells), bends: make([]float64, cells),
		}
	}
	return m
}

// Write feeds b, any number of frames, to the meter, which keeps nothing of it. It panics if b has another
// number of channels than the meter.
func (m *ShortMeter) Write(b stages.Block) {
	if len(b) != len(m.channels) {
		panic(fmt.Sprintf("meter: a block of %d channels for a meter of %d", len(b), len(m.channels)))
	}
	frames := b.Frames()
	for from := 0; from < frames; {
		to := min(frames, from+stretchFrames-m.fill)
		for c := range b {
			copy(m.channels[c].x[shortHistory+m.fill:], b[c][from:to])
		}
		m.fill += to - from
		from = to
		if m.fill == stretchFrames {
			m.read()
		}
	}
}

// Peak is the largest magnitude so far, linear, 1 = full scale, as if the signal ended here. It does not
// disturb the meter.
func (m *ShortMeter) Peak() float64 {
	end := *m
	end.channels = make([]shortChannel, len(m.channels))
	for i, c := range m.channels {
		end.channels[i] = shortChannel{slices.Clone(c.x), slices.Clone(c.peaks), slices.Clone(c.bends)}
	}
	if m.after != nil {
		end.readOn()
		return end.top
	}
	// Twice, as what a filter makes goes on after the last frame.
	for range 2 {
		for _, c := range end.channels {
			clear(c.x[shortHistory+end.fill:])
		}
		end.read()
	}
	return end.top
}

// read finds the peak of a stretch and begins another.
func (m *ShortMeter) read() {
	for i := range m.channels {
		m.readChannel(&m.channels[i])
	}
	m.fill = 0
}

func (m *ShortMeter) readChannel(c *shortChannel) {
	c.scan()
	if m.filter.samples {
		m.top = max(m.top, largest(c.peaks[1:]))
	}
	m.readCells(c, stretchCells)
	copy(c.x, c.x[stretchFrames:][:shortHistory])
	c.peaks[0], c.bends[0] = c.peaks[stretchCells], c.bends[stretchCells]
}

// scan finds levels of the cells of the stretch.
func (c *shortChannel) scan() {
	scan := func() bool {
		_, squares := kernel.Scan(c.x[shortHistory-2:], c.peaks[1:], c.bends[1:])
		return squares <= huge*huge // false for NaN
	}
	if !scan() {
		var l levels
		l.tame(c.x[shortHistory:][:stretchFrames], 0, 0)
		scan()
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
