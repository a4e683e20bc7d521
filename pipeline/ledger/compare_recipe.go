package ledger

import (
	"slices"
	"strings"

	"ledgerline/stages"
)

// written adds what was changed in what a master has besides its audio, in the tracks that it runs into, and
// in whether what can be heard was measured.
func (l *changeList) written(p pair) {
	for _, c := range TagChanges(p.old.Tags, p.new.Tags) {
		l.add(p.ref, Change{What: WhatTag, Key: c.Key, Old: orNil(c.Old), New: orNil(c.New)})
	}
	if o, n := p.old.carried(), p.new.carried(); o != n {
		l.add(p.ref, Change{What: WhatChunks, Old: o, New: n})
	}
	if o, n := p.old.runsInto(), p.new.runsInto(); o != n {
		l.add(p.ref, Change{What: WhatContinuous, Old: orNil(o), New: orNil(n)})
	}
	l.audibility(p)
}

// audibility adds whether what can be heard is measured now and was not, or the other way round,
// where the mix is not why. The oldest ledgers have no whole.
func (l *changeList) audibility(p pair) {
	if p.old.Whole == nil || p.new.Whole == nil || p.old.Source.SHA256 != p.new.Source.SHA256 {
		return
	}
	o, n := p.old.heard() != nil, p.new.heard() != nil
	key := "measure"
	if o && n {
		o, n, key = p.old.aliasingHeard(), p.new.aliasingHeard(), "aliasing"
	}
	if o != n {
		l.add(p.ref, Change{What: WhatAudibility, Key: key, Old: o, New: n})
	}
}

// aliasingHeard says whether the aliasing of a clip was held against the mask.
func (t *Track) aliasingHeard() bool {
	return slices.ContainsFunc(t.Stages, func(s StageResult) bool {
		return s.Audibility != nil && s.Audibility.AliasingDisturbedPercent != nil
	})
}

func orNil(text string) any {
	if text == "" {
		return nil
	}
	return text
}

// carried is what becomes of the mix's chunks, as the release file says it.
func (t *Track) carried() string {
	if t.Chunks == "" {
		return "drop"
	}
	return t.Chunks
}

// runsInto lists the tracks of a continuous group; empty: there is none.
func (t *Track) runsInto() string {
	var names []string
	for _, j := range t.Continuous {
		names = append(names, j.Track)
	}
	return strings.Join(names, ", ")
}

// otherRecipe says whether the two entries were rendered by different recipes.
func (p pair) otherRecipe() bool {
	return p.old.Recipe != p.new.Recipe && p.old.Recipe != "" && p.new.Recipe != ""
}

// recipes adds the renders of which only the version of rendering can have changed. A recipe has more
// that an entry may not show: the release's ceiling and what is measured of audibility, neither of which
// changes a byte of a master; and, of a delivery, what rounds in the master that it continues.
func (l *changeList) recipes(old, new *Ledger) {
	changed := map[trackKey]bool{}
	measured := old.CeilingDBFS != new.CeilingDBFS
	for _, c := range l.list {
		measured = measured || c.What == WhatAudibility
		for _, ref := range c.Tracks {
			changed[trackKey{ref.Track, ref.Variant, ref.Delivery}] = true
		}
	}
	for _, p := range l.unexplained {
		master := p.new.key()
		master.delivery = ""
		if changed[master] || measured && p.old.Output.SHA256 == p.new.Output.SHA256 {
			continue
		}
		l.add(p.ref, Change{What: WhatRecipe, Key: p.unseen()})
	}
}

// unseen is the setting besides the version of rendering that may be why a recipe is another one: a masked
// clip goes by the playback level, and an entry has that only where audibility is measured.
func (p pair) unseen() string {
	hears := func(u stages.Use) bool { return u.Of().Hears }
	if p.new.heard() == nil && slices.ContainsFunc(p.new.Chain, hears) {
		return "level_db_spl"
	}
	return ""
}
