package release

import (
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
)

// continuous is what a release file says of tracks that run into each other.
type continuous struct {
	line   int
	all    bool // all tracks of the release are one group, in the order of their names
	groups [][]member
}

// member is a track of a group, as written.
type member struct {
	track string
	line  int
}

const wantContinuous = `a list of lists of tracks, such as [["01 quay", "02 ferry"]], or true for all`

// continuous checks the key. Whether there are such tracks is known only when the
// mixes are found.
func (c *checker) continuous(n *node) (g continuous) {
	if n == nil {
		return g
	}
	g.line = n.line
	if all, ok := n.value.(bool); ok {
		g.all = all
		return g
	}
	if n.list == nil {
		c.mistyped("", n, wantContinuous)
		return g
	}
	in := map[string]bool{}
	for _, e := range n.list {
		if e.list == nil {
			c.mistyped("continuous: ", e, wantContinuous)
			continue
		}
		g.groups = append(g.groups, c.group(e, in))
	}
	return g
}

// group checks one list of tracks; in has the tracks of all groups so far.
func (c *checker) group(n *node, in map[string]bool) (group []member) {
	for _, e := range n.list {
		name, ok := e.value.(string)
		switch {
		case !ok:
			c.mistyped("continuous: ", e, "a track's name in quotes")
		case in[name]:
			c.add(e.line, "continuous: track %q is named twice; want it once, in one group", name)
		default:
			in[name] = true
			group = append(group, member{name, e.line})
		}
	}
	if len(n.list) < 2 {
		c.add(n.line, "continuous: a group of %s; want two or more that run into each other", many(len(n.list)))
	}
	return group
}

func many(tracks int) string {
	if tracks == 1 {
		return "1 track"
	}
	return fmt.Sprintf("%d tracks", tracks)
}

// groups are the tracks of each group, under the name of each of them.
type groups map[string][]string

// groups finds the groups among the mixes that there are.
func (c *checker) groups(g continuous, mixes []mix) groups {
	known := trackNames(mixes)
	if g.all && len(known) == 1 {
		c.add(g.line, "continuous = true: the release has 1 track; want two or more that run into each other")
	}
	found := groups{}
	for _, group := range g.lists(known) {
		names := c.knownMembers("continuous: ", group, known)
		for _, name := range names {
			found[name] = names
		}
	}
	return found
}

// lists are the groups as written, or the one of all tracks.
func (g continuous) lists(known []string) [][]member {
	if !g.all {
		return g.groups
	}
	var group []member
	for _, track := range known {
		group = append(group, member{track, g.line})
	}
	return [][]member{group}
}

// next is the track that a track runs into; empty: none.
func (g groups) next(track string) string {
	group := g[track]
	if at := slices.Index(group, track); at >= 0 && at+1 < len(group) {
		return group[at+1]
	}
	return ""
}

func trackNames(mixes []mix) []string {
	names := make([]string, len(mixes))
	for i, m := range mixes {
		names[i] = m.track
	}
	return slices.Compact(names) // two of one name are reported with their outputs
}

// knownMembers are the tracks of a group, or of another list. Those that there are no mixes of are reported,
// and taken for the ones that were likely meant.
func (c *checker) knownMembers(label string, group []member, known []string) (tracks []string) {
	for _, m := range group {
		track := m.track
		if !slices.Contains(known, track) {
			track = c.likelyTrack(label, m, known)
		}
		if track != "" && !slices.Contains(tracks, track) {
			tracks = append(tracks, track)
		}
	}
	return tracks
}

// likelyTrack reports a track that there is no mix of. It is the one that was likely meant; empty: none was.
func (c *checker) likelyTrack(label string, m member, known []string) (likely string) {
	hint := meant(m.track, known)
	if base := strings.TrimSuffix(m.track, filepath.Ext(m.track)); slices.Contains(known, base) {
		likely, hint = base, fmt.Sprintf("; want %q, without the extension", base)
	} else if hint == "" {
		hint = "; the tracks are " + someOf(known)
	} else if k, ok := marksApart(m.track, known); ok {
		likely = k
	} else {
		likely, _ = Nearest(m.track, known)
	}
	c.add(m.line, "%sno track is named %q%s", label, m.track, hint)
	return likely
}

// sameChains reports tracks of one group whose chains differ.
func (c *checker) sameChains(g continuous, mixes []mix, all []chains) {
	for _, group := range g.lists(trackNames(mixes)) {
		for _, m := range group {
			c.sameChain(group[0], m, all)
		}
	}
}

// sameChain reports a track whose chain is not that of the first of its group: one
// stream goes through one chain.
func (c *checker) sameChain(first, m member, all []chains) {
	for _, ch := range all {
		a, b := plainChain(ch.of(first.track)), plainChain(ch.of(m.track))
		if reflect.DeepEqual(a, b) {
			continue
		}
		where := ""
		if v := ch.name(); v != "" {
			where = fmt.Sprintf(" in [variant.%s]", key(v))
		}
		c.add(m.line, "continuous: %q and %q are one stream and have different chains%s: %s; want the "+
			"same for both", first.track, m.track, where, difference(first.track, m.track, ch))
		return
	}
}

// difference is the first difference of the chains of two tracks, which differ.
func difference(first, second string, ch chains) string {
	a, b := ch.of(first), ch.of(second)
	for k := range min(len(a), len(b)) {
		if a[k].Name != b[k].Name {
			break
		}
		for _, key := range a[k].Of().Keys {
			if x, y := a[k].Settings[key.Name], b[k].Settings[key.Name]; !reflect.DeepEqual(x, y) {
				return fmt.Sprintf("%s.%s is %s and %s", a[k].Name, key.Name, valueText(x), valueText(y))
			}
		}
	}
	return "they skip different stages"
}

func valueText(v any) string {
	if v == nil {
		return "not set"
	}
	return fmt.Sprintf("%#v", v)
}

// meaning is what the key says, for the hash of a release file; nil: nothing.
func (g continuous) meaning() any {
	if g.all {
		return true
	}
	var groups [][]string
	for _, group := range g.groups {
		var names []string
		for _, m := range group {
			names = append(names, m.track)
		}
		groups = append(groups, names)
	}
	if groups == nil {
		return nil
	}
	slices.SortFunc(groups, slices.Compare)
	return groups
}
