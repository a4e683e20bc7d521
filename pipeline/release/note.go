package release

import (
	"fmt"
	"maps"
	"slices"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// note is what is legal in a chain but odd.
type note struct {
	line int
	text string
}

// oddities are the notes on a chain that ends in an encoding; formLine is where
// the encoding is given.
func oddities(chain []stageUse, e audiofile.Encoding, formLine int) (notes []note) {
	add := func(line int, format string, args ...any) {
		notes = append(notes, note{line, fmt.Sprintf(format, args...)})
	}
	if len(chain) == 0 {
		add(formLine, "the chain has no stage: the mixes are only written in another encoding")
	}
	dither, rounding := firstRounding(chain)
	if bits := e.WordBits(); bits > 0 {
		if dither == nil {
			add(formLine, "no dither stage before %s: samples are rounded to the nearest code", e)
		} else if rounding.Bits != bits {
			add(dither.line, "stage %q dithers to %d bits and the files have %d%s", dither.Name, rounding.Bits, bits,
				roundedAgain(rounding.Bits, bits))
		}
	}
	for _, r := range stages.Remarks(plainChain(chain)) {
		notes = append(notes, note{chain[r.At].line, r.Text})
	}
	return notes
}

// unwritten is that what a chain removed cannot be written, though that is asked for.
func (d *draft) unwritten(chain []stageUse) []note {
	if _, _, told := stages.Told(plainChain(chain)); told || !d.output.Removed {
		return nil
	}
	k := slices.IndexFunc(chain, func(s stageUse) bool { return s.ChangesRate() })
	return []note{
		{
			chain[k].line, fmt.Sprintf("stage %q changes the rate on the way: what the chain removed is not written",
				chain[k].Name),
		},
	}
}

// firstRounding is the first stage of a chain that rounds to words, nil where there is none.
func firstRounding(chain []stageUse) (*stageUse, stages.Rounding) {
	for k := range chain {
		if r, ok := chain[k].Rounding(); ok {
			return &chain[k], r
		}
	}
	return nil, stages.Rounding{}
}

// unheard are the notes on what the file sets and no chain makes use of: keys that have
// no effect wherever that setting is the one that counts.
func (d *draft) unheard() []note {
	u := &unheard{heard: map[note]bool{}}
	for v := range len(d.variants) + 1 {
		for t := range len(d.tracks) + 1 {
			variant, track := orNone(d.variants, v), orNone(d.tracks, t)
			for _, use := range d.written(variant, track) {
				for _, key := range use.Of().Unheard {
					u.look(d, variant, track, use.Use, key)
				}
			}
		}
	}
	return slices.DeleteFunc(u.notes, func(n note) bool { return u.heard[n] })
}

// unheard gathers the settings that may have no effect, and which have one in some chain.
type unheard struct {
	notes []note
	heard map[note]bool
}

func (u *unheard) look(d *draft, variant, track *override, use stages.Use, key stages.Unheard) {
	v, given := use.Settings[key.Key]
	if !given {
		return
	}
	label, line := d.setBy(variant, track, use.Name, key.Key)
	n := note{line, fmt.Sprintf("%sstage %q: %s = %#v has no effect: %s", label, use.Name, key.Key, v, key.Why)}
	if _, known := u.heard[n]; !known {
		u.notes = append(u.notes, n)
	}
	u.heard[n] = u.heard[n] || !key.When(use.Settings)
}

// orNone is the override before index i, or nil for 0.
func orNone(all []override, i int) *override {
	if i == 0 {
		return nil
	}
	return &all[i-1]
}

// setBy is what gives a stage's setting its value in a chain, as messages
// begin, and the line of it. Something does.
func (d *draft) setBy(variant, track *override, stage, key string) (label string, line int) {
	for _, ch := range []*override{track, variant} {
		if line, given := ch.of(stage).lines[key]; given {
			return ch.label, line
		}
	}
	at := slices.IndexFunc(d.stages, func(s stageDraft) bool { return s.name == stage })
	return "", d.stages[at].lines[key]
}

// beat is a setting of a track that holds in place of those of variants.
type beat struct {
	stage, key string
	own, other any    // the track's value, and that of the first of the variants
	variant    string // the first of them
	more       int    // how many there are besides
}

// beaten are the notes on such settings in the chains of a track, those of all
// variants: one for each setting.
func beaten(track *override, all []chains) (notes []note) {
	var beats []*beat
	known := map[[2]string]*beat{} // by stage and key
	for _, ch := range all {
		for _, s := range ch.tracks[track.name] {
			own, other := track.of(s.Name).settings, ch.variant.of(s.Name).settings
			for _, name := range slices.Sorted(maps.Keys(own)) {
				if v, both := other[name]; !both || v == own[name] || s.Settings[name] != own[name] {
					continue
				}
				if b := known[[2]string{s.Name, name}]; b != nil {
					b.more++
					continue
				}
				b := &beat{stage: s.Name, key: name, own: own[name], other: other[name], variant: ch.name()}
				known[[2]string{s.Name, name}] = b
				beats = append(beats, b)
			}
		}
	}
	for _, b := range beats {
		notes = append(notes, note{
			track.line, fmt.Sprintf("stage %q: %s = %#v is used in [variant.%s]%s too, instead of its %#v", b.stage,
				b.key, b.own, key(b.variant), andMore(b.more), b.other),
		})
	}
	return notes
}

func roundedAgain(dithered, written int) string {
	if dithered > written {
		return ": samples are rounded once more, without dither"
	}
	return ""
}

// notebook gathers the notes of a release's chains, each of them once.
type notebook struct {
	notes []note
	said  map[note]bool
}

// add books the notes on a chain that have not been made already. The label
// says which chain they are about.
func (b *notebook) add(label string, notes []note) {
	for _, n := range notes {
		if !b.said[n] {
			b.said[n] = true
			b.notes = append(b.notes, note{n.line, label + n.text})
		}
	}
}

// lines are the notes as they are shown, in the order of their lines.
func (b *notebook) lines(c *checker) (lines []string) {
	slices.SortStableFunc(b.notes, func(x, y note) int { return x.line - y.line })
	for _, n := range b.notes {
		lines = append(lines, c.problem(n.line, n.text).String())
	}
	return lines
}
