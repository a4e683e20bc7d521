package meter

import (
	"fmt"
	"math"
	"slices"

	"ledgerline/stages"
	"ledgerline/stages/kernel"
)

// Options say what a meter is to know of the signal.
type Options struct {
	Rate    int       // frames a second, 8000 to 384000
	Weights []float64 // one a channel, as Weights gives them; their number is the number of channels
	Ceiling float64   // linear magnitude that samples shall not pass; 0 = count no overs

	// WholeBand has the true peak read right up to half the rate: within 0.02 dB of the signal between its
	// samples, whatever it is. It costs 140 kB a channel; without it signals with much above 21.7/44.1 of the
	// rate may read 0.14 dB low or high.
	WholeBand bool
}

// check panics if the options make no sense.
func (o Options) check() {
	if o.Rate < 8000 || o.Rate > 384000 {
		panic(fmt.Sprintf("meter: rate %d Hz is not within 8000 to 384000", o.Rate))
	}
	if len(o.Weights) == 0 {
		panic("meter: no channels")
	}
	for _, w := range append([]float64{o.Ceiling}, o.Weights...) {
		if !(w >= 0 && w <= math.MaxFloat64) {
			panic("meter: a weight or the ceiling is negative or not finite")
		}
	}
}

// Meter reads a signal. It is not safe for use by several goroutines at once. It keeps
// about the last 1500 frames of each channel, more at rates beyond 48 kHz or for the whole band, and, for
// loudness, 80 bytes a second: 2.3 MB for eight hours.
type Meter struct {
	o       Options
	history int // frames kept before the stretch that is being filled

	start    int64 // first frame of that stretch
	fill     int   // how many of its frames are there
	channels []channel

	levels   levels
	overs    overs
	peak     truePeak
	weighing weighing
	loudness loudness

	// Of the block in work, see Lead and Follow.
	leads, follows bool
	marks          []Mark  // made, or still to be used
	until          float64 // no sample has passed this while what follows is alike

	tamed bool // samples have been changed before they were reckoned with

	across    *Meter // reads the true peak of a signal that is cut out of a longer one, see Before; nil: m does
	peaksOnly bool   // m is such a meter
	foreign   int    // frames of its stretch that are before the signal

	after stages.Block // what comes after the signal, see After; nil: silence
}

// New returns a meter that has heard nothing. It panics if the rate is out of
// range, if there is no channel, or if a weight or the ceiling is negative or
// not finite.
func New(o Options) *Meter {
	o.check()
	o.Weights = slices.Clone(o.Weights)
	m := &Meter{
		o:        o,
		history:  historyFrames(o.Rate),
		channels: make([]channel, len(o.Weights)),
		levels:   newLevels(),
		peak:     truePeak{interpolator: theInterpolator()},
		weighing: newWeighing(o.Rate, o.Weights),
		loudness: loudness{rate: o.Rate},
	}
	for c := range m.channels {
		m.channels[c] = newChannel(m.history)
		if o.WholeBand {
			m.channels[c].whole = newWholeBand(len(m.channels[c].peaks))
		}
	}
	return m
}

// Write feeds b, any number of frames, to the meter, which keeps nothing of
// it. It panics if b has another number of channels than the meter.
func (m *Meter) Write(b stages.Block) {
	if len(b) != len(m.channels) {
		panic(fmt.Sprintf("meter: a block of %d channels for a meter of %d", len(b), len(m.channels)))
	}
	if m.across != nil {
		m.across.Write(b)
	}
	frames := b.Frames()
	for from := 0; from < frames; {
		to := min(frames, from+stretchFrames-m.fill)
		if m.mayBorrow(from, to) {
			m.borrow(b, from, to)
		} else {
			m.giveBack(b, from)
			for c := range b {
				copy(m.channels[c].x[m.history+m.fill:], b[c][from:to])
			}
		}
		m.fill += to - from
		from = to
		if m.fill == stretchFrames {
			m.read()
			m.weigh()
			m.next()
		}
	}
	m.giveBack(b, frames)
}

// read finds the figures of the stretch, whose frames after the fill are silent.
func (m *Meter) read() {
	for i := range m.channels {
		m.scan(&m.channels[i], i)
	}
	m.raise()
	m.findPeaks()
	m.pushWhole()
}

// raise has the true peak be no less than the sample peak.
func (m *Meter) raise() {
	peak := m.levels.peak
	if m.peaksOnly {
		peak = 0
		for _, c := range m.channels {
			peak = max(peak, kernel.MaxAbs(c.x[m.history+m.foreign:]))
		}
	}
	m.peak.top, m.peak.lead.point = max(m.peak.top, peak), max(m.peak.lead.point, peak)
}

// scan finds levels and overs of a channel in the stretch.
func (m *Meter) scan(c *channel, number int) {
	sum, squares, ok := c.scan()
	if !ok {
		m.tamed = true
		c.keep(c.x)
		m.levels.tame(c.x[m.history:], m.start, number)
		sum, squares, _ = c.scan()
	}
	c.sum += sum
	m.levels.squares += squares
	first := m.history / cellFrames
	if top := largest(c.peaks[first:]); top < m.levels.peak && !(m.o.Ceiling > 0 && top > m.o.Ceiling) {
		return
	}
	for k := first; k < len(c.peaks); k++ {
		frame, peak := m.start+int64(k*cellFrames-m.history), c.peaks[k]
		m.levels.add(c.cell(k), peak, frame, number)
		if m.o.Ceiling > 0 && peak > m.o.Ceiling {
			m.overs.add(c.cell(k), m.o.Ceiling, frame, number)
		}
	}
}

// weigh finds the loudness of each segment that what is there completes.
func (m *Meter) weigh() {
	for !m.peaksOnly {
		from, to := segmentStart(m.o.Rate, m.loudness.n), segmentStart(m.o.Rate, m.loudness.n+1)
		if to > m.start+int64(m.fill) {
			return
		}
		at := int(from-m.start) + m.history
		m.loudness.add(m.weighing.energy(m.channels, at, at+int(to-from)))
	}
}

// next begins another stretch.
func (m *Meter) next() {
	m.peak.from = max(0, m.peak.from-stretchCells)
	m.foreign = 0
	for c := range m.channels {
		m.channels[c].shift()
	}
	m.start += stretchFrames
	m.fill = 0
}

// Reading is what the meter has found so far, as if the signal ended here. It
// does not disturb the meter.
func (m *Meter) Reading() Reading {
	end := m.ended()
	frames := m.start + int64(m.fill)
	r := Reading{
		Frames: frames,

		SamplePeak:  end.levels.peak,
		PeakFrame:   end.levels.peakFrame,
		PeakChannel: end.levels.peakChannel,
		TruePeak:    m.truePeak(end),

		Integrated:   end.loudness.integrated(),
		Range:        end.loudness.spread(),
		MaxMomentary: lufs(end.loudness.momentary),
		MaxShortTerm: lufs(end.loudness.shortTerm),

		SumSquares: end.levels.squares,
		DC:         make([]float64, len(m.channels)),

		NonFinite:        end.levels.nonFinite,
		FirstNonFinite:   end.levels.nonFiniteFrame,
		NonFiniteChannel: end.levels.nonFiniteChannel,

		Overs:      end.overs.count,
		WorstOvers: slices.Clone(end.overs.worst[:end.overs.kept()]),
	}
	if frames > 0 {
		r.RMS = math.Sqrt(r.SumSquares / float64(frames*int64(len(m.channels))))
		for c := range r.DC {
			r.DC[c] = end.channels[c].sum / float64(frames)
		}
	}
	return r
}

// truePeak is the true peak of a meter that has ended.
func (m *Meter) truePeak(end *Meter) float64 {
	if m.across == nil || m.start+int64(m.fill) == 0 {
		return end.peak.top
	}
	return max(end.levels.peak, m.across.ended().peak.top)
}

// ended is a copy of m that has read the frames still waiting for their stretch to
// fill, and silence after them: enough for the true peak to come to the end.
func (m *Meter) ended() *Meter {
	end := m.clone(channel.clone)
	if m.after != nil {
		end.readOn()
		return end
	}
	end.read()
	end.weigh()
	end.next()
	for _, c := range end.channels {
		clear(c.x[m.history:])
	}
	end.read()
	end.endWhole(0)
	return end
}

// endedLoudness is the loudness of ended, which takes much less time without the true peak.
func (m *Meter) endedLoudness() *loudness {
	end := m.clone(channel.cloneSamples)
	for i := range end.channels {
		end.scan(&end.channels[i], i)
	}
	end.weigh()
	return &end.loudness
}

// clone is a copy of m, with silence after the frames that wait for their stretch to fill.
func (m *Meter) clone(one func(channel) channel) *Meter {
	end := *m
	end.channels = make([]channel, len(m.channels))
	for i, c := range m.channels {
		end.channels[i] = one(c)
		clear(end.channels[i].x[m.history+m.fill:])
	}
	end.weighing.pairs = slices.Clone(m.weighing.pairs)
	end.loudness.steps = slices.Clip(m.loudness.steps)
	return &end
}
