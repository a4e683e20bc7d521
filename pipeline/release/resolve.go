package release

import (
	"path/filepath"
	"slices"
	"strings"
)

// resolve finds the mixes of a draft, and makes the release of it where
// nothing was wrong.
func (c *checker) resolve(d *draft) *Release {
	slices.SortFunc(d.variants, func(a, b override) int { return strings.Compare(a.name, b.name) })
	d.output.Folder = filepath.FromSlash(d.output.FolderAsWritten)
	if !filepath.IsAbs(d.output.Folder) {
		d.output.Folder = filepath.Join(c.folder, d.output.Folder)
	}
	before := len(c.problems)
	p := placing{
		mixes: c.mixes(d.sources, c.folder), places: []place{{}}, folder: c.folder, out: d.output.Folder,
	}
	allFound := len(c.problems) == before
	if !c.fewRenders(d, p.mixes) {
		return nil
	}
	for _, v := range d.variants {
		p.places = append(p.places, place{folder: v.name})
	}
	for _, x := range d.deliveries {
		p.places = append(p.places, place{x.name, x.container})
	}
	c.outputs(d, p)
	var groups groups
	var tracks []string
	var gapsS []float64
	if allFound { // else it is not known which tracks there are to be
		c.knownTracks(d.tracks, p.mixes)
		groups = c.groups(d.continuous, p.mixes)
		tracks, gapsS = c.ordered(d, p.mixes, groups)
	}
	c.quotedNames(d, p.mixes)
	if len(c.problems) > 0 {
		return nil
	}
	all := d.chains()
	c.sameChains(d.continuous, p.mixes, all)
	c.together(all)
	if c.deliverable(all, d); len(c.problems) > 0 {
		return nil
	}
	r := &Release{
		Path: c.file, Folder: c.folder, Title: d.title, CeilingDBFS: d.ceiling, Output: d.output,
		Audibility: d.audibility, Survey: d.survey,
		Renders: d.renders(p.mixes, all, groups), Hash: d.hash(all),
		Notes: d.notes(c, all, c.missed(d.sources, p), len(p.mixes)),
		Order: tracks, GapsS: gapsS,
		Lines: make(map[string]int, len(d.stages)),
	}
	for _, s := range d.stages {
		r.Lines[s.name] = s.line
	}
	r.House = c.housePath
	if r.Title == "" {
		r.Title = filepath.Base(c.folder)
	}
	for _, s := range d.sources {
		r.Globs = append(r.Globs, absolutePattern(splitPattern(c.folder, s.text)))
	}
	return r
}

// knownTracks reports tables for tracks that there are no mixes of. Where no
// mix was found at all, that is said already.
func (c *checker) knownTracks(tracks []override, mixes []mix) {
	if len(mixes) == 0 {
		return
	}
	names := make([]string, len(mixes))
	known := make(map[string]bool, len(mixes))
	for i, m := range mixes {
		names[i], known[m.track] = m.track, true
	}
	for _, t := range tracks {
		base := strings.TrimSuffix(t.name, filepath.Ext(t.name))
		switch {
		case known[t.name]:
		case known[base]:
			c.add(t.line, "%sno track is named %q; want %q, without the extension", t.label, t.name, base)
		default:
			hint := meant(t.name, names)
			if hint == "" {
				hint = "; the tracks are " + someOf(names)
			}
			c.add(t.line, "%sno track is named %q%s", t.label, t.name, hint)
		}
	}
}

// renders are the renders of every mix. Those of one chain share its settings.
func (d *draft) renders(mixes []mix, all []chains, groups groups) []Render {
	renders := make([]Render, 0, len(mixes)*(len(all)+len(d.deliveries)))
	plain := plainChains{}
	tags := d.tagsByTrack()
	for _, m := range mixes {
		for _, ch := range all {
			chain := ch.of(m.track)
			r := Render{
				Track: m.track, Variant: ch.name(),
				Source: m.path, SourceAsWritten: m.written,
				Output:     outputPath(d.output.Folder, ch.name(), m.track, ""),
				Encoding:   d.output.Encoding,
				Chain:      plain.of(chain, "", func() []stageUse { return chain }),
				Continuous: groups[m.track],
				Tags:       tags(m.track),
				KeepChunks: d.keepChunks,
			}
			renders = append(append(renders, r), d.deliver(m, r, chain, plain)...)
		}
	}
	return renders
}

// notes are those on the sources, and the oddities of all chains.
func (d *draft) notes(c *checker, all []chains, sources []note, tracks int) []string {
	b := &notebook{said: map[note]bool{}}
	b.add("", sources)
	for _, ch := range all {
		label := ""
		if v := ch.variant; v != nil {
			label = v.label
			if len(v.skip) == 0 && len(v.stages) == 0 {
				b.add(label, []note{{v.line, "changes nothing"}})
			}
		}
		b.add(label, oddities(ch.own, d.output.Encoding, d.formLine))
		b.add(label, d.unwritten(ch.own))
	}
	for i := range d.tracks {
		t := &d.tracks[i]
		for _, ch := range all {
			label := t.label
			if ch.variant != nil {
				label += ch.variant.label
			}
			b.add(label, oddities(ch.tracks[t.name], d.output.Encoding, d.formLine))
			b.add(label, d.unwritten(ch.tracks[t.name]))
		}
		b.add(t.label, beaten(t, all))
	}
	for _, x := range d.deliveries {
		x.note(b, all, d)
		b.add(x.label, x.discNotes(tracks))
	}
	b.add("", d.unheard())
	return b.lines(c)
}
