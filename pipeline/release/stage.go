package release

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ledgerline/stages"
)

// stageDraft is a [[stage]] as written: only the settings that it gives, and
// of those only the ones that are right.
type stageDraft struct {
	name     string // never empty
	kind     string // empty where the file gives none that is known
	settings stages.Settings
	line     int
	lines    map[string]int // of its keys
	sound    bool           // nothing was wrong with it
}

// stages checks the chain: first the names, by which problems are told, then
// each stage's keys against its own kind.
func (c *checker) stages(n *node) []stageDraft {
	if n == nil {
		return nil
	}
	return c.named(c.stageTables(n, "[[stage]]"), nil, "")
}

// named are the stages of some tables, which follow others in a chain; messages about them begin
// with the label.
func (c *checker) named(tables []*node, before []stageDraft, label string) []stageDraft {
	drafts := make([]stageDraft, len(tables))
	for i, t := range tables {
		drafts[i].line = t.line
		drafts[i].kind = c.kind(t, fmt.Sprintf("%sstage %d: ", label, i+1))
	}
	c.nameStages(tables, drafts, before, label)
	for i, t := range tables {
		c.stage(t, &drafts[i], label)
	}
	return drafts
}

// stageTables are the tables under a header such as [[stage]].
func (c *checker) stageTables(n *node, header string) (tables []*node) {
	want := fmt.Sprintf("a table %s for each stage", header)
	switch {
	case n.table != nil:
		c.add(n.line, "%s is a single table; write %s, in double brackets, for each stage", n.text, header)
		return []*node{n}
	case n.list == nil:
		c.mistyped("", n, want)
	}
	for _, t := range n.list {
		if c.isTable(t, want) {
			tables = append(tables, t)
		}
	}
	return tables
}

// kind is the kind that a stage's table gives, or empty.
func (c *checker) kind(t *node, label string) string {
	names := kindNames()
	n := t.table["kind"]
	if n == nil && misspelt("kind", t.keys, stageKeys{also: ownStageKeys}.all()) {
		return ""
	}
	if n == nil {
		c.add(t.line, "%skind is missing; want %s", label, enumerate(names, "or"))
		return ""
	}
	kind, ok := n.value.(string)
	if !ok {
		c.mistyped(label, n, "a kind in quotes: "+enumerate(names, "or"))
		return ""
	}
	if slices.Contains(names, kind) {
		return kind
	}
	c.add(n.line, "%sno kind of stage is named %q%s", label, kind, meantOr(kind, names))
	return ""
}

// kindNames are the names of the kinds.
func kindNames() []string {
	kinds := stages.Kinds()
	names := make([]string, len(kinds))
	for i, k := range kinds {
		names[i] = k.Name
	}
	return names
}

// meantOr is the end of a sentence about an unknown name: the nearest known
// one, or else all of them.
func meantOr(written string, known []string) string {
	if hint := meant(written, known); hint != "" {
		return hint
	}
	if len(known) == 0 {
		return ""
	}
	return "; want " + enumerate(known, "or")
}

// nameStages gives every stage a name of its own: the one written, or else the
// kind, numbered from 2 where that is used. The stages before them have their names.
func (c *checker) nameStages(tables []*node, drafts, before []stageDraft, label string) {
	used := map[string]int{} // the line of each name
	for _, s := range before {
		used[s.name] = s.line
	}
	for i, t := range tables {
		n := t.table["name"]
		if n == nil {
			continue
		}
		name := c.stageName(n, fmt.Sprintf("%sstage %d: ", label, i+1))
		if line, twice := used[name]; twice {
			c.add(n.line, "%stwo stages are named %q, the other one at line %d; give each a name of its own", label,
				name, line&^inHouse)
		} else if name != "" {
			used[name] = n.line
			drafts[i].name = name
		}
	}
	given := map[string]int{} // how often a kind's name was asked for
	for i := range drafts {
		if d := &drafts[i]; d.name == "" {
			d.name = freeName(likelyKind(tables[i], d.kind), given, used)
			used[d.name] = d.line
		}
	}
}

// likelyKind is a stage's kind or, where that is wrong, the one that was
// probably meant, so that what the rest of the file says of the stage finds it.
func likelyKind(t *node, kind string) string {
	n := t.table["kind"]
	if kind != "" || n == nil {
		return cmp.Or(kind, "stage")
	}
	written, _ := n.value.(string)
	if len(written) > mostName {
		written = ""
	}
	meant, _ := Nearest(written, kindNames())
	return cmp.Or(meant, written, "stage")
}

// freeName is a kind's name, or the first of kind_2, kind_3, ... that is not
// used. It goes on from the number that it gave the kind last.
func freeName(kind string, given, used map[string]int) string {
	for {
		given[kind]++
		name := kind
		if n := given[kind]; n > 1 {
			name = fmt.Sprintf("%s_%d", kind, n)
		}
		if _, ok := used[name]; !ok {
			return name
		}
	}
}

// sourceName is what boundary 0 is named.
const sourceName = "source"

// stageName is a stage's name as written, also where it should not be one.
func (c *checker) stageName(n *node, label string) string {
	name := c.shortName(label, n)
	switch {
	case name == sourceName || name == "skip" || name == tagsName:
		c.add(n.line, "%s%s is taken: boundary 0 is named source, skip leaves stages out, and tags are a track's "+
			"texts; want another name", label, n.text)
	case strings.ContainsAny(name, `/\`):
		c.add(n.line, "%s%s has a slash; want a name without one", label, n.text)
	}
	return name
}

// stage checks a stage's keys against its kind.
func (c *checker) stage(t *node, d *stageDraft, label string) {
	before := len(c.problems)
	kind, ok := stages.KindNamed(d.kind)
	k := stageKeys{label: fmt.Sprintf("%sstage %q: ", label, d.name), kind: kind, also: ownStageKeys}
	d.settings, d.lines = stages.Settings{}, t.lines()
	for _, key := range t.keys {
		c.stageKey(k, key, t.table[key], d.settings)
	}
	if ok {
		c.required(k, t.line, t.keys)
	}
	d.sound = ok && len(c.problems) == before
}

// ownStageKeys are the keys of a [[stage]] of whatever kind.
var ownStageKeys = []string{"kind", "name"}

// stageKeys are the keys that a table about a stage may have.
type stageKeys struct {
	label string      // as messages begin: `stage "clip": `
	kind  stages.Kind // without a name where it is not known
	also  []string    // beside the kind's own; they are checked elsewhere
}

// all are the keys that such a table may have, those of every kind where its
// own is not known.
func (k stageKeys) all() []string {
	if k.kind.Name == "" {
		return allKeys(k.also)
	}
	own := slices.Clone(k.also)
	for _, s := range k.kind.Keys {
		own = append(own, s.Name)
	}
	return own
}

// stageKey checks one key about a stage and puts its value into the settings.
// Of a stage whose kind is not known only the keys that no kind has are wrong.
func (c *checker) stageKey(k stageKeys, key string, n *node, into stages.Settings) {
	setting, ok := k.kind.Key(key)
	switch {
	case slices.Contains(k.also, key):
	case ok && setting.Type == stages.Number && isSigned(n):
		c.add(n.line, "%s%s is a string; want %s, without quotes: only a [variant.NAME] takes one in quotes, to "+
			"add to what a track has", k.label, n.text, wanted(setting))
	case ok:
		if v, ok := c.setting(k.label, setting, n); ok {
			into[key] = v
		}
	case k.kind.Name != "":
		c.unknown(n.line, k.label+k.kind.Name+" has no key ", key, k.all())
	case len(kindsWith(key)) == 0:
		c.unknown(n.line, k.label+"unknown key ", key, k.all())
	}
}

// allKeys are the keys of every kind, after some others.
func allKeys(others []string) []string {
	all := slices.Clone(others)
	for _, k := range stages.Kinds() {
		for _, s := range k.Keys {
			if !slices.Contains(all, s.Name) {
				all = append(all, s.Name)
			}
		}
	}
	return all
}

// required reports the keys that a stage's kind cannot do without and that are
// not given.
func (c *checker) required(k stageKeys, line int, given []string) {
	for _, key := range k.kind.Keys {
		if key.Required && !slices.Contains(given, key.Name) && !misspelt(key.Name, given, k.all()) {
			c.add(line, "%s%s needs %s; want %s", k.label, k.kind.Name, key.Name, wanted(key))
		}
	}
}

// stageNames are the names of the stages, in the order of the chain.
func stageNames(drafts []stageDraft) []string {
	names := make([]string, len(drafts))
	for i, d := range drafts {
		names[i] = d.name
	}
	return names
}
