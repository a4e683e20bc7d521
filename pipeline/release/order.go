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
	gaps   gaps
}

// gaps is gaps_s as written.
type gaps struct {
	line  int       // 0: the file has none
	list  bool      // one for each two tracks; else one number for all
	each  []float64 // s
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
		o.tracks = c.orderedTracks(n)
	}
	if n := root.table["gaps_s"]; n != nil {
		o.gaps = c.gaps(n)
	}
	return o
}

func (c *checker) orderedTracks(n *node) (tracks []member) {
	if n.list == nil {
		c.mistyped("", n, wantOrder)
		return nil
	}
	first := map[string]bool{}
	for _, e := range n.list {
		name, ok := e.value.(string)
		switch {
		case !ok:
			c.mistyped("order: ", e, "a track's name in quotes")
		case first[name]:
			c.add(e.line, "order: track %q is named twice; want it once", name)
		default:
			first[name] = true
			tracks = append(tracks, member{name, e.line})
		}
	}
	return tracks
}

func (c *checker) gaps(n *node) gaps {
	g := gaps{line: n.line, list: n.list != nil}
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
// seconds after each but the last; nil: the file says nothing of it.
func (c *checker) ordered(
	d *draft, mixes []mix, groups map[string][]string,
) (tracks []string, gapsS []float64) {
	known := make([]string, len(mixes))
	for i, m := range mixes {
		known[i] = m.track
	}
	if !d.orderNeeded() {
		return nil, nil
	}
	tracks = known
	if d.order.line > 0 {
		if !c.everyTrack(d.order, known) {
			return nil, nil
		}
		tracks = nil
		for _, m := range d.order.tracks {
			tracks = append(tracks, m.track)
		}
	}
	if !c.adjoining(d, tracks, groups) || d.order.gaps.line == 0 {
		return tracks, nil
	}
	return tracks, c.gapsOf(d.order.gaps, tracks, groups)
}

// everyTrack reports tracks in the order that there are no mixes of, and those that are not in it.
func (c *checker) everyTrack(o order, known []string) bool {
	if !c.knownMembers("order: ", o.tracks, known) {
		return false
	}
	var missing []string
	for _, track := range known {
		if !slices.ContainsFunc(o.tracks, func(m member) bool { return m.track == track }) {
			missing = append(missing, track)
		}
	}
	switch len(missing) {
	case 0:
		return true
	case 1:
		c.add(o.line, "order: track %q is missing; want every track once", missing[0])
	default:
		c.add(o.line, "order: the tracks %s are missing; want every track once", someOf(missing))
	}
	return false
}

// adjoining reports tracks that run into each other and do not follow each other.
func (c *checker) adjoining(d *draft, tracks []string, groups map[string][]string) bool {
	before := len(c.problems)
	for i, track := range tracks {
		group := groups[track]
		at := slices.Index(group, track)
		if at < 0 || at+1 == len(group) {
			continue
		}
		next := group[at+1]
		if i+1 < len(tracks) && tracks[i+1] == next {
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
	return len(c.problems) == before
}

// gapsOf are the gaps after each track but the last: none where two run into each other.
func (c *checker) gapsOf(g gaps, tracks []string, groups map[string][]string) (all []float64) {
	if want := len(tracks) - 1; g.list && len(g.each) != want {
		c.add(g.line, "gaps_s has %s; want %d, one for each two of the %d tracks", manyNumbers(len(g.each)), want,
			len(tracks))
		return nil
	}
	if len(g.each) == 0 && !g.list {
		return nil // it is no number, which has been said
	}
	all = make([]float64, len(tracks)-1)
	for i := range all {
		into := slices.Contains(groups[tracks[i]], tracks[i+1])
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
