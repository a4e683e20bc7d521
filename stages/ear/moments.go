package ear

import "slices"

// An over is a window that has noise above the mask in a channel.
type over struct {
	frame   int64   // where the samples differ most
	over    float64 // ratio of noise to mask
	channel int
	band    int
}

// order is the furthest first, then the earliest, then by channel.
func (o over) order(p over) int {
	switch {
	case o.over != p.over:
		return sign(o.over > p.over)
	case o.frame != p.frame:
		return sign(o.frame < p.frame)
	}
	return o.channel - p.channel
}

func sign(first bool) int {
	if first {
		return -1
	}
	return 1
}

const (
	mostMoments = 10 // that are told

	// An over is among the ten unless ten worse ones are told. Later ones may take the place of some of those,
	// of two at most each; so an over may be forgotten when there are 20 worse ones, each a second or more from
	// the others.
	enoughOvers = 2 * mostMoments

	// After so many new ones, or as many as there were, those are forgotten that may be. What is left is within
	// a second of 20 overs: at most two thousand or so, with about 47 windows a second.
	moreOvers = 256
)

// moments look for the worst: the worst of all overs, then the worst of those a second or more from it, and
// so on.
type moments struct {
	apart  int64  // a second, in frames
	sure   []over // up to the last window in which something was heard
	unsure []over // after it: counted once something is heard again
	// How many of each are kept before some are forgotten.
	sureRoom, unsureRoom int
	floor                over // what comes after it in order is not among the ten; of ratio 0 there is none
}

func newMoments(m *Model) moments {
	return moments{apart: int64(m.rate), sureRoom: moreOvers, unsureRoom: moreOvers}
}

func (m moments) clone() moments {
	m.sure, m.unsure = slices.Clone(m.sure), slices.Clone(m.unsure)
	return m
}

// meet takes in an over.
func (m *moments) meet(o over) {
	if m.floor.over > 0 && o.order(m.floor) > 0 {
		return
	}
	m.unsure = append(m.unsure, o)
	if len(m.unsure) > m.unsureRoom {
		m.unsure, _ = m.forget(m.unsure)
		m.unsureRoom = max(2*len(m.unsure), len(m.unsure)+moreOvers)
	}
}

// heard makes all overs so far count.
func (m *moments) heard() {
	m.sure, m.unsure = append(m.sure, m.unsure...), m.unsure[:0]
	if len(m.sure) > m.sureRoom {
		var last over
		m.sure, last = m.forget(m.sure)
		if last.over > 0 {
			m.floor = last
		}
		m.sureRoom = max(2*len(m.sure), len(m.sure)+moreOvers)
	}
}

// forget puts overs in order and leaves out those that may be forgotten. The last is the one after which
// nothing is kept, if there is one.
func (m *moments) forget(overs []over) (kept []over, last over) {
	slices.SortFunc(overs, over.order)
	if found, at := m.worst(overs, enoughOvers); len(found) == enoughOvers {
		return overs[:at+1], overs[at]
	}
	return overs, over{}
}

// worst are up to so many moments of overs that are in order, and the place of the last.
func (m *moments) worst(overs []over, most int) (found []over, at int) {
	found = make([]over, 0, most)
	for i, o := range overs {
		if !slices.ContainsFunc(found, func(f over) bool {
			return max(f.frame-o.frame, o.frame-f.frame) < m.apart
		}) {
			if found, at = append(found, o), i; len(found) == most {
				break
			}
		}
	}
	return found, at
}

// found are the moments that count.
func (m *moments) found() []over {
	overs := slices.Clone(m.sure)
	slices.SortFunc(overs, over.order)
	found, _ := m.worst(overs, mostMoments)
	return found
}
