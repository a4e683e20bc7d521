package ledger

import (
	"slices"

	"ledgerline/stages"
)

// matchStages finds the stages of the old chain that are still in the new one,
// and their names there. A stage that is gone and a new one are the same, renamed, if they
// are of one kind and between the same neighbours; equal settings decide between several.
func matchStages(old, new []stages.Use) map[string]string {
	names, taken := map[string]string{}, map[string]bool{}
	for _, s := range new {
		taken[s.Name] = false
	}
	for _, s := range old {
		if _, ok := taken[s.Name]; ok {
			names[s.Name], taken[s.Name] = s.Name, true
		}
	}
	before := "" // the last stage that is still there, by its new name
	for _, s := range old {
		if name, ok := names[s.Name]; ok {
			before = name
			continue
		}
		if name, ok := renamed(s, before, new, taken); ok {
			names[s.Name], taken[name] = name, true
			before = name
		}
	}
	return names
}

// renamed finds s among the new chain's stages between the stage before and the next one
// that is taken.
func renamed(s stages.Use, before string, new []stages.Use, taken map[string]bool) (string, bool) {
	from := 1 + slices.IndexFunc(new, func(n stages.Use) bool { return n.Name == before })
	name, found := "", false
	for _, n := range new[from:] {
		switch {
		case taken[n.Name]:
			return name, found
		case n.Kind != s.Kind:
		case sameSettings(n.Settings, s.Settings):
			return n.Name, true
		case !found:
			name, found = n.Name, true
		}
	}
	return name, found
}

// chain adds what was changed in a track's chain.
func (l *changeList) chain(p pair) {
	oldNames := map[string]stages.Use{} // by the new name
	for _, s := range p.old.Chain {
		if name, ok := p.names[s.Name]; ok {
			oldNames[name] = s
			continue
		}
		l.add(p.ref, Change{What: WhatStageRemoved, Stage: s.Name, Old: s.Kind})
	}
	moved := p.movedStages()
	for k, s := range p.new.Chain {
		o, ok := oldNames[s.Name]
		if !ok {
			l.add(p.ref, Change{What: WhatStageAdded, Stage: s.Name, New: s.Kind})
			continue
		}
		if o.Name != s.Name {
			l.add(p.ref, Change{What: WhatStageRenamed, Stage: s.Name, Old: o.Name, New: s.Name})
		}
		if from, ok := moved[s.Name]; ok {
			l.add(p.ref, Change{What: WhatStageMoved, Stage: s.Name, Old: from, New: k + 1})
		}
		if o.Kind != s.Kind {
			l.add(p.ref, Change{What: WhatKind, Stage: s.Name, Old: o.Kind, New: s.Kind})
		}
		for _, c := range SettingChanges(o.Settings, s.Settings) {
			l.add(p.ref, Change{What: WhatSetting, Stage: s.Name, Key: c.Key, Old: c.Old, New: c.New})
		}
	}
}

// movedStages are the old places, from 1, of the stages that left their order,
// by their new names: the fewest whose moving explains the new order, which are
// those outside a longest rising run of new places.
func (p pair) movedStages() map[string]int {
	placeNow := map[string]int{}
	for k, s := range p.new.Chain {
		placeNow[s.Name] = k
	}
	type stay struct {
		name          string
		from, to      int
		length, after int // of the longest run that ends here; the stay before it in that run, or -1
	}
	var stays []stay
	last := -1
	for k, s := range p.old.Chain {
		name, ok := p.names[s.Name]
		if !ok {
			continue
		}
		now := stay{name: name, from: k + 1, to: placeNow[name], length: 1, after: -1}
		for i, s := range stays {
			if s.to < now.to && s.length+1 > now.length {
				now.length, now.after = s.length+1, i
			}
		}
		if last < 0 || now.length > stays[last].length {
			last = len(stays)
		}
		stays = append(stays, now)
	}
	moved := map[string]int{}
	for i := len(stays) - 1; i >= 0; i-- {
		if i == last {
			last = stays[i].after
			continue
		}
		moved[stays[i].name] = stays[i].from
	}
	return moved
}
