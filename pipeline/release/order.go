package release

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/stages"
)

// order is what a release file says of the order of its tracks and of the silence between them.
type order struct {
	line   int // of order; 0: the file has none
	tracks []member
	amiss  bool // something in the list is no name, so that nobody knows which track it is
	gaps   gaps
}

// gaps is gaps_s as written.
type gaps struct {
	line  int       // 0: the file has none
	list  bool      // one for each two tracks; else one number for all
	count int       // of what is in the list
	each  []float64 // s; shorter than the list where that has mistakes
	lines []int     // of each
}

const (
	wantOrder = `a list of all tracks in their order, such as ["01 quay", "02 ferry"]`
	wantGaps  = `a number of seconds, or a list of one for each two tracks, such as [2.0, 3.5]`
)

// gapKey is one gap: ten minutes are longer than any that a record has before a hidden track.
var gapKey = stages.Key{Name: "gaps_s", Type: stages.Number, Min: 0, Max: 600, Unit: "s"}

// order checks the keys. Whether there are such tracks is known only when the mixes are found.
func (c *checker) order(root *node) (o order) {
	if n := root.table["order"]; n != nil {
		o.line = n.line
		o.tracks, o.amiss = c.orderedTracks(n)
	}
	if n := root.table["gaps_s"]; n != nil {
		o.gaps = c.gaps(n)
	}
	return o
}

func (c *checker) orderedTracks(n *node) (tracks []member, amiss bool) {
	if n.list == nil {
		c.mistyped("", n, wantOrder)
		return nil, true
	}
	first := map[string]bool{}
	for _, e := range n.list {
		name, ok := e.value.(string)
		switch {
		case !ok:
			c.mistyped("order: ", e, "a track's name in quotes")
			amiss = true
		case first[name]:
			c.add(e.line, "order: track %q is named twice; want it once", name)
		default:
			first[name] = true
			tracks = append(tracks, member{name, e.line})
		}
	}
	return tracks, amiss
}

func (c *checker) gaps(n *node) gaps {
	g := gaps{line: n.line, list: n.list != nil, count: len(n.list)}
	all := n.list
	if all == nil {
		if n.table != nil {
			c.mistyped("", n, wantGaps)
			return g
		}
		all = []*node{n}
	}
	for _, e := range all {
		label := ""
		if g.list {
			label = "gaps_s: "
		}
		if v, ok := c.setting(label, gapKey, e); ok {
			g.each, g.lines = append(g.each, v.(float64)), append(g.lines, e.line)
		}
	}
	return g
}

// orderNeeded says whether the order of the tracks shows anywhere.
func (d *draft) orderNeeded() bool {
	return d.order.line > 0 || d.order.gaps.line > 0 ||
		slices.ContainsFunc(d.deliveries, func(x deliveryDraft) bool { return x.sheet || x.cue })
}

// ordered are the tracks in the order that the file says, or in that of their names, and the silence in
// seconds after each but the last; nil: the file says nothing of it. All that is wrong is reported at once.
func (c *checker) ordered(d *draft, mixes []mix, groups groups) (tracks []string, gapsS []float64) {
	if !d.orderNeeded() || len(mixes) == 0 {
		return nil, nil
	}
	known := trackNames(mixes)
	tracks = known
	if d.order.line > 0 {
		tracks = c.everyTrack(d.order, known)
	}
	c.adjoining(d, tracks, groups)
	return tracks, c.gapsOf(d.order.gaps, len(known), tracks, groups)
}

// everyTrack are the tracks in the order. Those that there are no mixes of are reported, and those that are
// not in it.
func (c *checker) everyTrack(o order, known []string) []string {
	tracks := c.knownMembers("order: ", o.tracks, known)
	var missing []string
	for _, track := range known {
		if !o.amiss && !slices.Contains(tracks, track) {
			missing = append(missing, track)
		}
	}
	switch len(missing) {
	case 0:
	case 1:
		c.add(o.line, "order: track %q is missing; want every track once", missing[0])
	default:
		c.add(o.line, "order: the tracks %s are missing; want every track once", someOf(missing))
	}
	return tracks
}

// adjoining reports tracks that run into each other and do not follow each other. One that is not there is
// reported already.
func (c *checker) adjoining(d *draft, tracks []string, groups groups) {
	for i, track := range tracks {
		next := groups.next(track)
		if next == "" || !slices.Contains(tracks, next) || i+1 < len(tracks) && tracks[i+1] == next {
			continue
		}
		if d.order.line > 0 {
			c.add(d.order.line, "order: %q runs into %q, as continuous says; want the one right after the other",
				track, next)
		} else {
			c.add(d.continuous.line,
				"continuous: %q runs into %q, and does not come right before it by name; "+
					"want order, with all tracks as they follow each other", track, next)
		}
	}
}

// gapsOf are the gaps after each track but the last: none where two run into each other. There are mixes of
// so many tracks; where the order has others, a gap has no place.
func (c *checker) gapsOf(g gaps, mixes int, tracks []string, groups groups) (all []float64) {
	if g.list && g.count != mixes-1 {
		c.add(g.line, "gaps_s has %s; want %d, one for each two of the %d tracks", manyNumbers(g.count), mixes-1,
			mixes)
		return nil
	}
	if len(tracks) != mixes || g.list && len(g.each) != g.count || !g.list && len(g.each) == 0 {
		return nil // there are none, or what is wrong has been said
	}
	all = make([]float64, mixes-1)
	for i := range all {
		into := groups.next(tracks[i]) == tracks[i+1]
		switch {
		case g.list && into && g.each[i] != 0:
			c.add(g.lines[i], "gaps_s: %s s between %q and %q, which run into each other; want 0 there",
				figure(g.each[i]), tracks[i], tracks[i+1])
		case g.list:
			all[i] = g.each[i]
		case !into:
			all[i] = g.each[0]
		}
	}
	return all
}

func manyNumbers(n int) string {
	if n == 1 {
		return "1 number"
	}
	return fmt.Sprintf("%d numbers", n)
}

// meaning is what order says, for the hash of a release file; nil: nothing.
func (o order) meaning() (tracks []string) {
	for _, m := range o.tracks {
		tracks = append(tracks, m.track)
	}
	return tracks
}

// meaning is what gaps_s says: a number, or a list; nil: nothing.
func (g gaps) meaning() any {
	switch {
	case g.line == 0 || len(g.each) == 0:
		return nil
	case g.list:
		return g.each
	}
	return g.each[0]
}

// quotedNames reports tracks whose files a cue sheet cannot name.
func (c *checker) quotedNames(d *draft, mixes []mix) {
	for _, x := range d.deliveries {
		for _, m := range mixes {
			if x.cue && strings.Contains(m.track, `"`) {
				c.add(x.cueLine,
					"%scue = true: the name of the mix %q has double quotes in it, which a cue sheet cannot hold; "+
						"want another name", x.label, m.written)
			}
		}
	}
}
