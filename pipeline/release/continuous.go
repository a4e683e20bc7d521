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

// groups are the groups, each under the name of each of its tracks.
func (c *checker) groups(g continuous, mixes []mix, all []chains) map[string][]string {
	if g.all {
		g.groups = [][]member{nil}
		for _, m := range mixes {
			g.groups[0] = append(g.groups[0], member{m.track, g.line})
		}
		if len(mixes) == 1 {
			c.add(g.line, "continuous = true: the release has 1 track; want two or more that run into each other")
		}
	}
	known := make([]string, len(mixes))
	for i, m := range mixes {
		known[i] = m.track
	}
	groups := map[string][]string{}
	for _, group := range g.groups {
		if !c.knownMembers("continuous: ", group, known) {
			continue
		}
		names := make([]string, len(group))
		for i, m := range group {
			names[i] = m.track
			groups[m.track] = names
			c.sameChain(group[0], m, all)
		}
	}
	return groups
}

// knownMembers reports tracks of a group, or of another list, that there are no mixes of.
func (c *checker) knownMembers(label string, group []member, known []string) bool {
	before := len(c.problems)
	for _, m := range group {
		if slices.Contains(known, m.track) {
			continue
		}
		hint := meant(m.track, known)
		if base := strings.TrimSuffix(m.track, filepath.Ext(m.track)); slices.Contains(known, base) {
			hint = fmt.Sprintf("; want %q, without the extension", base)
		} else if hint == "" {
			hint = "; the tracks are " + someOf(known)
		}
		c.add(m.line, "%sno track is named %q%s", label, m.track, hint)
	}
	return len(c.problems) == before
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
