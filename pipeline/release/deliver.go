package release

import (
	"fmt"
	"maps"
	"slices"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// own are the stages that a delivery has of its own, with all their settings.
func (x deliveryDraft) own() (chain []stageUse) {
	for _, s := range x.stages {
		use := stageUse{stages.Use{Name: s.name, Kind: s.kind, Settings: maps.Clone(s.settings)}, s.line}
		use.Of().Fill(use.Settings)
		chain = append(chain, use)
	}
	return chain
}

// begins is how many of the stages of a chain, one of the release's, a delivery begins with.
func (x deliveryDraft) begins(chain []stageUse, d *draft) int {
	names := stageNames(d.stages[:x.shared(d.stages)])
	n := len(chain)
	for n > 0 && !slices.Contains(names, chain[n-1].Name) {
		n--
	}
	return n
}

// chain is a delivery's chain where the release's is the given one.
func (x deliveryDraft) chain(of []stageUse, d *draft) []stageUse {
	return append(slices.Clone(of[:x.begins(of, d)]), x.own()...)
}

// chainsOf are the chains of the variant that a delivery is made of.
func (x deliveryDraft) chainsOf(all []chains) chains {
	return all[slices.IndexFunc(all, func(ch chains) bool { return ch.name() == x.variant })]
}

// delivered are the chains of a delivery: for those tracks that have no table, and for the others.
func (x deliveryDraft) delivered(all []chains, d *draft) chains {
	of := x.chainsOf(all)
	own := chains{own: x.chain(of.own, d), tracks: map[string][]stageUse{}}
	for track, chain := range of.tracks {
		own.tracks[track] = x.chain(chain, d)
	}
	return own
}

// deliverable reports what is wrong with deliveries in the chains that they continue: one that begins after
// a dither, and settings that cannot be had together.
func (c *checker) deliverable(all []chains, d *draft) {
	for _, x := range d.deliveries {
		of := x.chainsOf(all)
		c.discRate(x)
		if !c.undithered(x, of.own, d) {
			for _, track := range slices.Sorted(maps.Keys(of.tracks)) {
				if c.undithered(x, of.tracks[track], d) {
					break
				}
			}
		}
		for _, s := range x.own() {
			if fault := s.Of().Fault; fault != nil {
				if text := fault(s.Settings); text != "" {
					c.add(s.line, "%sstage %q: %s", x.label, s.Name, text)
				}
			}
		}
		if !d.audibility.Measure {
			for _, s := range x.stages {
				c.unmeasured(fmt.Sprintf("%sstage %q: ", x.label, s.name), s.settings, s.lines)
			}
		}
	}
}

// undithered reports a delivery that begins after a dither of a chain, and whether it does.
func (c *checker) undithered(x deliveryDraft, chain []stageUse, d *draft) bool {
	before := chain[:x.begins(chain, d)]
	at := slices.IndexFunc(before, func(s stageUse) bool { return s.Of().Rounds != nil })
	if at < 0 {
		return false
	}
	last := sourceName
	if at > 0 {
		last = before[at-1].Name
	}
	r, _ := before[at].Rounding()
	where, line := fmt.Sprintf("from = %q is", x.from), x.fromLine
	if x.from == "" {
		where, line = "it begins", x.line
	}
	c.add(line, "%s%s after stage %q, which rounds to %d bits; want from = %q, the last boundary before it",
		x.label, where, before[at].Name, r.Bits, last)
	return true
}

// deliver are the renders of a mix by the deliveries that are made of one of its renders, which is by one
// variant.
func (d *draft) deliver(m mix, r Render, of []stageUse, plain plainChains) (renders []Render) {
	for _, x := range d.deliveries {
		if x.variant != r.Variant {
			continue
		}
		begins := x.begins(of, d)
		n := r
		n.Delivery, n.Encoding, n.Container, n.Sums = x.name, x.encoding, x.container, x.sums
		n.Sheet, n.Cue, n.DiscFrames = x.sheet, x.cue, x.discAt
		n.KeepChunks = d.keepChunks && x.container != audiofile.FLAC
		n.Output = outputPath(d.output.Folder, x.name, m.track, x.container)
		n.Chain = plain.of(of, x.name, func() []stageUse { return x.chain(of, d) })
		n.Coders = x.plainCoders()
		n.Main = &Main{Begins: begins, Chain: r.Chain, Encoding: r.Encoding}
		renders = append(renders, n)
	}
	return renders
}

// note adds what is odd about a delivery: about its own stages, and about how they end.
func (x deliveryDraft) note(b *notebook, all []chains, d *draft) {
	ch := x.delivered(all, d)
	own := map[int]bool{x.formLine: true}
	for _, s := range x.stages {
		own[s.line] = true
	}
	add := func(chain []stageUse) {
		notes := oddities(chain, x.encoding, x.formLine)
		b.add(x.label, slices.DeleteFunc(notes, func(n note) bool { return !own[n.line] }))
	}
	add(ch.own)
	for _, track := range slices.Sorted(maps.Keys(ch.tracks)) {
		add(ch.tracks[track])
	}
	for _, s := range x.stages {
		kind, _ := stages.KindNamed(s.kind)
		for _, u := range kind.Unheard {
			if v, given := s.settings[u.Key]; given && u.When(s.settings) {
				b.add(x.label, []note{
					{s.lines[u.Key], fmt.Sprintf("stage %q: %s = %#v has no effect: %s", s.name, u.Key, v, u.Why)},
				})
			}
		}
	}
}

// deliveryMeaning is what a delivery says, for the hash of a release file.
type deliveryMeaning struct {
	Name      string       `json:"name"`
	Variant   string       `json:"variant"`
	Begins    []string     `json:"begins"` // the release's stages that it may begin with
	Container string       `json:"container"`
	Encoding  string       `json:"encoding"`
	Sums      bool         `json:"sums"`
	Sheet     bool         `json:"sheet,omitempty"`
	Cue       bool         `json:"cue,omitempty"`
	Disc      bool         `json:"disc_frames,omitempty"`
	Stages    []stages.Use `json:"stages"`

	Coders []coderMeaning `json:"coders,omitempty"`
}

func (x deliveryDraft) meaning(d *draft) deliveryMeaning {
	m := deliveryMeaning{
		Name: x.name, Variant: x.variant, Begins: stageNames(d.stages[:x.shared(d.stages)]),
		Container: string(x.container), Encoding: string(x.encoding),
		Sums: x.sums, Sheet: x.sheet, Cue: x.cue, Disc: x.discAt != "", Stages: plainChain(x.own()),
	}
	for _, coder := range x.coders {
		m.Coders = append(m.Coders, coder.meaning())
	}
	return m
}

// Main is the render that a delivery continues: one of the same track, by the release's own chain or a
// variant.
type Main struct {
	Begins   int // how many of its stages the delivery begins with
	Chain    []stages.Use
	Encoding audiofile.Encoding
}
