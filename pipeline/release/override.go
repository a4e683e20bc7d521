package release

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// override is a [track."NAME"] or [variant.NAME]: what it says otherwise of the chain.
type override struct {
	name   string
	label  string // as messages begin: `[variant.plain]: `
	line   int
	skip   []string
	stages map[string]stageOverride // by the stage's name

	tags     audiofile.Tags // of a track
	tagsLine int
}

// stageOverride is what it says otherwise of one stage.
type stageOverride struct {
	kind     string // empty: the kind it has
	settings stages.Settings
	addends  map[string]addend // of a variant: what it adds to settings, by key
	lines    map[string]int    // of its keys
}

// variants checks the tables [variant.NAME].
func (c *checker) variants(n *node, chain []stageDraft) (variants []override) {
	if n == nil || !c.isTable(n, "tables [variant.NAME]") {
		return nil
	}
	folders := map[string]string{}
	for _, name := range n.keys {
		t := n.table[name]
		if !c.shortKey(name, t) || !c.isTable(t, fmt.Sprintf("a table [variant.%s]", key(name))) {
			continue
		}
		v := override{name: name, label: fmt.Sprintf("[variant.%s]: ", key(name)), line: t.line}
		c.folderName(v.name, v.label, v.line)
		if other, twice := folders[strings.ToLower(name)]; twice {
			c.add(v.line, "%sits folder is that of [variant.%s] where capitals do not count; want another name",
				v.label, key(other))
		}
		folders[strings.ToLower(name)] = name
		c.override(&v, t, chain, func(s stageDraft, t *node) stageOverride { return c.variantStage(v.label, s, t) })
		variants = append(variants, v)
	}
	return variants
}

// key is a name as a TOML key: bare where it can be.
func key(name string) string {
	bare := name != "" && !strings.ContainsFunc(name, func(r rune) bool {
		return !('a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9' || r == '-' || r == '_')
	})
	if bare {
		return name
	}
	return fmt.Sprintf("%q", name)
}

// folderName checks that the name of a variant or a delivery can be that of a folder, on every
// file system, beside what else is in the output folder.
func (c *checker) folderName(name, label string, line int) {
	lower := strings.ToLower(name)
	switch {
	case name == "" || !printable(name) || strings.ContainsAny(name, `/\:*?"<>|`):
		c.add(line, `%sthe name is that of a folder; want one without / \ : * ? " < > | and control characters`,
			label)
	case strings.HasPrefix(name, ".") || strings.HasSuffix(name, ".") || strings.TrimSpace(name) != name:
		c.add(line, "%sthe name is that of a folder; want one that does not begin or end with a full "+
			"stop or a blank", label)
	case lower == MatchedFolder || lower == RemovedFolder || strings.HasPrefix(lower, "ledger."):
		c.add(line, "%s%q is taken in the output folder; want another name", label, name)
	}
}

// tracks checks the tables [track."NAME"]. Whether there are such tracks is
// known only when the mixes are found.
func (c *checker) tracks(n *node, d *draft) (tracks []override) {
	if n == nil || !c.isTable(n, `tables [track."NAME"]`) {
		return nil
	}
	for _, name := range n.keys {
		t := n.table[name]
		if !c.shortKey(name, t) || !c.isTable(t, fmt.Sprintf("a table [track.%s]", key(name))) {
			continue
		}
		tr := override{name: name, label: fmt.Sprintf("[track.%s]: ", key(name)), line: t.line}
		if n := t.table[tagsName]; n != nil {
			tr.tags, tr.tagsLine = c.tags(fmt.Sprintf("[track.%s.tags] ", key(name)), n, trackTagKeys), n.line
		}
		c.override(&tr, t, d.stages, func(s stageDraft, t *node) stageOverride {
			return stageOverride{settings: c.trackStage(tr.label, kindsOf(s, d.variants), s, t), lines: t.lines()}
		})
		tracks = append(tracks, tr)
	}
	c.oneISRCEach(tracks)
	return tracks
}

// override checks the keys of such a table: skip, and a table for each stage.
func (c *checker) override(ch *override, t *node, chain []stageDraft, read func(stageDraft,
	*node) stageOverride) {
	ch.stages = map[string]stageOverride{}
	for _, name := range t.keys {
		n := t.table[name]
		if name == "skip" {
			ch.skip = c.skip(ch.label, n, chain)
			continue
		}
		if name == tagsName && strings.HasPrefix(ch.label, "[track.") {
			continue // taken already
		}
		at := slices.IndexFunc(chain, func(s stageDraft) bool { return s.name == name })
		switch {
		case at < 0:
			c.noStage(ch.label, name, n, chain)
		case n.table == nil:
			c.mistyped(ch.label, n, fmt.Sprintf("a setting of the stage, such as %s.KEY = VALUE", key(name)))
		default:
			ch.stages[name] = read(chain[at], n)
		}
	}
}

// skip are the stages that an override leaves out.
func (c *checker) skip(label string, n *node, chain []stageDraft) (names []string) {
	const want = `a list of stages, such as ["clip"]`
	if n.list == nil {
		c.mistyped(label, n, want)
	}
	for _, e := range n.list {
		name, ok := e.value.(string)
		if !ok {
			c.mistyped(label+"skip: ", e, "a stage's name in quotes")
		} else if !slices.Contains(stageNames(chain), name) {
			c.add(e.line, "%sskip: no stage is named %q%s", label, name, meantOr(name, stageNames(chain)))
		} else {
			names = append(names, name)
		}
	}
	return names
}

// noStage reports a key that is not the name of a stage: perhaps a stage's
// setting without the stage.
func (c *checker) noStage(label, name string, n *node, chain []stageDraft) {
	for _, s := range chain {
		kind, _ := stages.KindNamed(s.kind)
		if _, ok := kind.Key(name); ok && n.table == nil {
			c.add(n.line, "%s%s does not say which stage it sets; want %s.%s", label, n.text, key(s.name), n.text)
			return
		}
	}
	near := meant(name, stageNames(chain))
	if home := homeOf(name); home != "" && near == "" && n.table == nil {
		c.add(n.line, "%sno stage is named %q; the key of that name belongs %s", label, name, home)
		return
	}
	c.add(n.line, "%sno stage is named %q%s", label, name, meantOr(name, stageNames(chain)))
}

// variantStage checks what a variant changes in a stage, against the kind that
// the stage then has. What that kind needs may also come from the stage itself.
func (c *checker) variantStage(label string, s stageDraft, t *node) stageOverride {
	label += fmt.Sprintf("stage %q: ", s.name)
	s.unnamed(t)
	ch := stageOverride{settings: stages.Settings{}, addends: map[string]addend{}, lines: t.lines()}
	line, kindName := t.line, s.kind
	if n := t.table["kind"]; n != nil {
		ch.kind = c.kind(t, label)
		line, kindName = n.line, ch.kind
	}
	kind, ok := stages.KindNamed(kindName)
	k := stageKeys{label: label, kind: kind, also: []string{"kind"}}
	for _, key := range t.keys {
		if !c.addendKey(label, kind, key, t.table[key], &ch) {
			c.stageKey(k, key, t.table[key], ch.settings)
		}
	}
	if ok && s.sound {
		kept := slices.Collect(maps.Keys(carried(s.settings, kind)))
		c.required(k, line, append(kept, t.keys...))
	}
	return ch
}

// unnamed takes the stage's name off the texts of an override's keys, because messages
// name the stage before them.
func (s stageDraft) unnamed(t *node) {
	for _, n := range t.table {
		n.text = strings.TrimPrefix(n.text, s.name+".")
	}
}

// kindsOf are the kinds that a stage has in the release's own chain and in the
// variants.
func kindsOf(s stageDraft, variants []override) []stages.Kind {
	names := []string{s.kind}
	for _, v := range variants {
		if k := v.stages[s.name].kind; k != "" {
			names = append(names, k)
		}
	}
	kinds := make([]stages.Kind, len(names))
	for i, n := range names {
		kinds[i], _ = stages.KindNamed(n)
	}
	return kinds
}

// trackStage checks what a track changes in a stage: the first of the stage's
// kinds that has a key says what is right for it.
func (c *checker) trackStage(label string, kinds []stages.Kind, s stageDraft, t *node) stages.Settings {
	label += fmt.Sprintf("stage %q: ", s.name)
	s.unnamed(t)
	settings := stages.Settings{}
	for _, key := range t.keys {
		n := t.table[key]
		if key == "kind" {
			c.add(n.line, "%s%s: a track cannot change a stage's kind; want a [variant.NAME] for it", label, n.text)
			continue
		}
		kind := kinds[max(0, slices.IndexFunc(kinds, func(k stages.Kind) bool {
			_, ok := k.Key(key)
			return ok
		}))]
		c.stageKey(stageKeys{label: label, kind: kind}, key, n, settings)
	}
	return settings
}
