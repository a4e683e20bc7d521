package release

import (
	"fmt"
	"maps"
	"slices"

	"ledgerline/stages"
)

// A stageUse is a stage of a resolved chain, and where its [[stage]] is, for notes.
type stageUse struct {
	stages.Use
	line int
}

// together reports settings of one stage that cannot be had together, each once, in the first chain that has
// them.
func (c *checker) together(all []chains) {
	said := map[note]bool{}
	for _, ch := range all {
		tell := func(of string, chain []stageUse) {
			for _, s := range chain {
				kind, _ := stages.KindNamed(s.Kind)
				if kind.Fault == nil {
					continue
				}
				text := kind.Fault(s.Settings)
				if n := (note{s.line, text}); text != "" && !said[n] {
					said[n] = true
					c.add(s.line, "%sstage %q: %s", of, s.Name, text)
				}
			}
		}
		of := ""
		if ch.variant != nil {
			of = ch.variant.label
		}
		tell(of, ch.own)
		for _, track := range slices.Sorted(maps.Keys(ch.tracks)) {
			tell(fmt.Sprintf("%s[track.%s]: ", of, key(track)), ch.tracks[track])
		}
	}
}

// plainChain is a chain without its places.
func plainChain(chain []stageUse) []stages.Use {
	plain := make([]stages.Use, len(chain))
	for i, s := range chain {
		plain[i] = s.Use
	}
	return plain
}

// plainChains has chains without their places, each once for all renders that share it: by its first stage,
// and by the delivery that continues it.
type plainChains map[plainKey][]stages.Use

type plainKey struct {
	first    *stageUse
	delivery string
}

// of is a chain that is or continues the given one, made where it is asked for first.
func (p plainChains) of(chain []stageUse, delivery string, made func() []stageUse) []stages.Use {
	if len(chain) == 0 {
		return plainChain(made())
	}
	key := plainKey{&chain[0], delivery}
	plain, ok := p[key]
	if !ok {
		plain = plainChain(made())
		p[key] = plain
	}
	return plain
}

// chains are the chains of the release's own or of one variant.
type chains struct {
	variant *override             // nil: the release's own
	own     []stageUse            // of the tracks that have no table
	tracks  map[string][]stageUse // of the others, by name
}

// chains resolves everything: the release's own chain first, then the variants.
func (d *draft) chains() []chains {
	all := make([]chains, 1+len(d.variants))
	for i := range all {
		ch := &all[i]
		if i > 0 {
			ch.variant = &d.variants[i-1]
		}
		ch.own = d.resolve(ch.variant, nil)
		ch.tracks = make(map[string][]stageUse, len(d.tracks))
		for k := range d.tracks {
			ch.tracks[d.tracks[k].name] = d.resolve(ch.variant, &d.tracks[k])
		}
	}
	return all
}

// name is the variant's, empty for the release's own chain.
func (ch chains) name() string {
	if ch.variant == nil {
		return ""
	}
	return ch.variant.name
}

// of is the chain of a track.
func (ch chains) of(track string) []stageUse {
	if own, ok := ch.tracks[track]; ok {
		return own
	}
	return ch.own
}

// resolve is the chain of one render, each stage with all its settings. Either
// override may be nil.
func (d *draft) resolve(variant, track *override) []stageUse {
	chain := d.written(variant, track)
	for _, use := range chain {
		kind, _ := stages.KindNamed(use.Kind)
		kind.Fill(use.Settings)
	}
	return chain
}

// written is the chain of one render, with those settings only that the file
// gives: the release's own stages, changed by the variant, and then by the track.
//
// A stage whose kind a variant changes keeps the settings that the new kind
// also has. What a track sets applies in every variant in which the stage has
// that key; elsewhere it says nothing. What a variant adds to a setting is added
// last, to what the track has.
func (d *draft) written(variant, track *override) []stageUse {
	chain := make([]stageUse, 0, len(d.stages))
	for _, s := range d.stages {
		if variant.skips(s.name) || track.skips(s.name) {
			continue
		}
		use := stageUse{
			stages.Use{Name: s.name, Kind: s.kindIn(variant), Settings: d.base(variant, track, s)}, s.line,
		}
		kind, _ := stages.KindNamed(use.Kind)
		variant.of(s.name).addTo(use.Settings, kind)
		chain = append(chain, use)
	}
	return chain
}

// carried are the settings that a stage of a kind can take.
func carried(s stages.Settings, kind stages.Kind) stages.Settings {
	kept := stages.Settings{}
	for name, v := range s {
		if key, ok := kind.Key(name); ok {
			if v, fault := fit(key, v); fault == "" {
				kept[name] = v
			}
		}
	}
	return kept
}

func (ch *override) skips(stage string) bool { return ch != nil && slices.Contains(ch.skip, stage) }

func (ch *override) of(stage string) stageOverride {
	if ch == nil {
		return stageOverride{}
	}
	return ch.stages[stage]
}
