package meter

import (
	"fmt"
	"math"
	"slices"

	"ledgerline/stages"
)

// Options say what a meter is to know of the signal.
type Options struct {
	Rate    int       // frames a second, 8000 to 384000
	Weights []float64 // one a channel, as Weights gives them; their number is the number of channels
	Ceiling float64   // linear magnitude that samples shall not pass; 0 = count no overs
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

// Meter reads a signal. It is not safe for use by several goroutines at once.
// It keeps the last 15 ms of each channel and, for loudness, 80 bytes a
// second: 2.3 MB for eight hours.
type Meter struct {
	o        Options
	weighted []int // the channels that have a weight
	kernel   kWeighting

	segment int64 // the number of the one being filled
	start   int64 // its first frame
	length  int   // its frames
	fill    int   // how many of them are there

	channels []channel
	levels   levels
	overs    overs
	peak     truePeak
	loudness loudness
}

// New returns a meter that has heard nothing. It panics if the rate is out of
// range, if there is no channel, or if a weight or the ceiling is negative or
// not finite.
func New(o Options) *Meter {
	o.check()
	o.Weights = slices.Clone(o.Weights)
	m := &Meter{
		o:        o,
		kernel:   newKWeighting(o.Rate),
		length:   int(segmentStart(o.Rate, 1)),
		channels: make([]channel, len(o.Weights)),
		levels:   newLevels(),
		peak:     truePeak{kernel: theInterpolator()},
		loudness: loudness{rate: o.Rate},
	}
	for c, w := range o.Weights {
		m.channels[c] = newChannel(o.Rate/perSecond + 1)
		if w > 0 {
			m.weighted = append(m.weighted, c)
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
	frames := b.Frames()
	for from := 0; from < frames; {
		to := min(frames, from+m.length-m.fill)
		for c := range b {
			copy(m.channels[c].x[history+m.fill:], b[c][from:to])
		}
		m.fill += to - from
		from = to
		if m.fill == m.length {
			m.read(m.length)
			m.weigh()
			m.next()
		}
	}
}

// read finds levels, overs and the true peak of the segment's frames.
func (m *Meter) read(frames int) {
	for i := range m.channels {
		c := &m.channels[i]
		sum, ok := c.scan(frames)
		if !ok {
			m.levels.tame(c.x[history:history+frames], m.start, i)
			sum, _ = c.scan(frames)
		}
		c.sum += sum
		for _, k := range c.cells[1:] {
			x, frame := c.x[k.from:k.to], m.start+int64(k.from-history)
			m.levels.add(x, k, frame, i)
			if m.o.Ceiling > 0 && k.peak > m.o.Ceiling {
				m.overs.add(x, m.o.Ceiling, frame, i)
			}
		}
	}
	m.peak.top = max(m.peak.top, m.levels.peak)
	for i := range m.channels {
		m.channels[i].interpolate(&m.peak)
	}
}

// weigh finds the loudness of a whole segment.
func (m *Meter) weigh() {
	var energy float64
	segment := func(c int) ([]float64, *weightState, float64) {
		return m.channels[c].x[history : history+m.length], &m.channels[c].state, m.o.Weights[c] * m.kernel.power
	}
	left := m.weighted
	for ; len(left) >= 2; left = left[2:] {
		x, s, w := segment(left[0])
		xx, ss, ww := segment(left[1])
		sum, sum2 := weighPair(x, xx, s, ss, &m.kernel)
		energy += float64(w * sum)
		energy += float64(ww * sum2)
		s.settle()
		ss.settle()
	}
	for _, c := range left {
		x, s, w := segment(c)
		energy += float64(w * weigh(x, s, &m.kernel))
		s.settle()
	}
	m.loudness.add(energy)
}

// next begins another segment.
func (m *Meter) next() {
	for c := range m.channels {
		m.channels[c].shift(m.length)
	}
	m.segment++
	m.start += int64(m.length)
	m.length = int(segmentStart(m.o.Rate, m.segment+1) - m.start)
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
		TruePeak:    end.peak.top,

		Integrated:   m.loudness.integrated(),
		Range:        m.loudness.spread(),
		MaxMomentary: lufs(m.loudness.momentary),
		MaxShortTerm: lufs(m.loudness.shortTerm),

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

// ended is a copy of m that has read the frames still waiting for their
// segment to fill, and silence behind them: enough for the true peak to come
// to the end, and no less than a cell.
func (m *Meter) ended() *Meter {
	end := *m
	end.channels = make([]channel, len(m.channels))
	for i, c := range m.channels {
		c.x, c.cells = slices.Clone(c.x), slices.Clone(c.cells)
		clear(c.x[history+m.fill:])
		end.channels[i] = c
	}
	end.read(m.fill + lag + lag)
	return &end
}
