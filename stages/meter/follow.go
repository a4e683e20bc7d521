package meter

import (
	"fmt"

	"ledgerline/stages"
)

// The meter after a gain or a dither reads nearly the signal of the meter before it, times a constant. So
// their largest true peaks lie at the same places, or nearly so high, and the second meter need only look
// where the first has found something: it follows, and the first leads. The reading is still that of looking
// everywhere, to the last bit.
//
// Let x be the leader's signal and g(x + e) the follower's, and let no |e| be greater than Within.
// Interpolated, e is nowhere greater than w = gain*Within. Let P be the largest magnitude of the leader's
// samples, and of its points worked out so far. At that place x + e is P - w or more, so the largest peak of
// x + e is, too. Where that peak lies, the bounds by which the leader's search decides are at most 1.25 w
// lower for x than for x + e: those that are sums over the signal, parabola included, by w at most, and the
// last one, a point plus an eighth of a step, by w + 2w/8. For x + e they are not lower than the peak. So in
// its cell the leader's search comes to the end, if it goes by a floor of P - 2.25 w or less.
//
// P is a sample or a point and not a peak because the least change of a signal may move a peak from one point
// to the next, with another parabola.

// A Mark has a bit for each cell of a channel's stretch in which a meter that follows is to look for the true
// peak.
type Mark uint16

const everywhere = Mark(1<<stretchCells - 1)

// leading is what a true peak's search has to do for a meter that follows.
type leading struct {
	on    bool
	point float64 // the largest magnitude of a sample or a point so far, without parabolas
	extra float64 // how much less than that the floor is
	found bool    // the search of the last cell has come to its end
}

const (
	// floorWidths is how many times w the floor is below the largest point.
	floorWidths = 2.5
	// rounded is how much rounding of the products of a gain and of the sums of interpolation could do, as a
	// part of the largest point, and underflow what it could do to a quotient of g.
	rounded   = 1e-11
	underflow = 1e-290
	// worthwhile is how large a part of the largest point extra may be. Beyond it, as before the first sound of
	// a track or after a coarse dither, the leader would work more than it saves.
	worthwhile = 1.0 / 1024
)

// floor is the magnitude up to which nothing need be worked out.
func (t *truePeak) floor() float64 {
	if !t.lead.on {
		return t.top - t.near
	}
	return float64(t.lead.point*(1-rounded)) - t.lead.extra - t.near
}

// Lead is Write, and appends to marks those that a meter needs to Follow this one: it reads what a stage of
// that likeness makes of b.
func (m *Meter) Lead(b stages.Block, like stages.Likeness, marks []Mark) []Mark {
	l := &m.peak.lead
	l.extra = max(floorWidths*like.Within*m.peak.interpolator.gain, underflow)
	m.marks, m.until, m.leads = marks, like.Until, true
	m.Write(b)
	m.leads, l.on = false, false
	return m.marks
}

// Follow is Write for a meter that reads what a stage made of the block that gave the marks. It panics if
// these are not of as many stretches as b completes. A meter follows another from its first block on, and the
// same one. One that reads the whole band follows one that does.
func (m *Meter) Follow(b stages.Block, marks []Mark) {
	if n := (m.fill + b.Frames()) / stretchFrames * len(m.channels); n != len(marks) {
		panic(fmt.Sprintf("meter: %d marks to follow in a block that needs %d", len(marks), n))
	}
	m.marks, m.follows = marks, true
	m.Write(b)
	m.marks, m.follows = nil, false
}

// findPeaks searches for true peaks, close after the end of the stretch. Once a sample has been tamed, or
// is beyond what a likeness holds for, the two signals are no longer alike, and a meter that follows looks
// everywhere.
func (m *Meter) findPeaks() {
	if m.across != nil {
		return
	}
	l := &m.peak.lead
	alike := !m.tamed && !(m.levels.peak > m.until)
	l.on = m.leads && alike && l.extra <= worthwhile*l.point
	for i := range m.channels {
		c := &m.channels[i]
		switch {
		case m.follows:
			mark := m.marks[i]
			if m.tamed {
				mark = everywhere
			}
			c.interpolateMarked(&m.peak, mark)
		case m.leads && !l.on:
			c.interpolate(&m.peak)
			m.marks = append(m.marks, everywhere)
		case m.leads:
			m.marks = append(m.marks, c.interpolate(&m.peak))
		default:
			c.interpolate(&m.peak)
		}
	}
	if m.follows {
		m.marks = m.marks[len(m.channels):]
	}
}
