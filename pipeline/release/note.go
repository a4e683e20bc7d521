package release

import (
	"fmt"
	"maps"
	"slices"

	"ledgerline/pipeline/audiofile"
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
	dither := slices.IndexFunc(chain, func(s stageUse) bool { return s.Kind == "dither" })
	if bits := int64(e.WordBits()); bits > 0 {
		if dither < 0 {
			add(formLine, "no dither stage before %s: samples are rounded to the nearest code", e)
		} else if b := chain[dither].Settings["bits"].(int64); b != bits {
			add(chain[dither].line, "stage %q dithers to %d bits and the files have %d%s", chain[dither].Name, b, bits, roundedAgain(b, bits))
		}
	}
	for i, s := range chain {
		switch s.Kind {
		case "ceiling_hold":
			behindHold(chain, i, add)
		case "oversampled_clip":
			unheldClip(chain, i, add)
		case "measure":
			least, hasLeast := s.Settings["loudness_min_lufs"].(float64)
			most, hasMost := s.Settings["loudness_max_lufs"].(float64)
			if hasLeast && hasMost && least > most {
				add(s.line, "stage %q asks for at least %v and at most %v LUFS, which nothing passes", s.Name, least, most)
			}
		case "dither":
			unheldDither(chain, i, add)
			if later := firstAfter(chain, i, changesSamples); later != nil {
				add(later.line, "stage %q stands behind the dither %q and undoes its rounding; dither usually stands last", later.Name, s.Name)
			}
		}
	}
	return notes
}

// unheard are the notes on what the file sets and no chain makes use of: the
// peak of holds that are plain wherever that setting is the one that counts.
func (d *draft) unheard() (notes []note) {
	heard := map[note]bool{}
	for v := range len(d.variants) + 1 {
		for t := range len(d.tracks) + 1 {
			variant, track := orNone(d.variants, v), orNone(d.tracks, t)
			for _, use := range d.written(variant, track) {
				peak, given := use.Settings["peak"]
				if !given {
					continue
				}
				label, line := d.setBy(variant, track, use.Name, "peak")
				n := note{line, fmt.Sprintf("%sstage %q: peak = %q has no effect: the method \"plain\" holds samples only", label, use.Name, peak)}
				if _, known := heard[n]; !known {
					notes = append(notes, n)
				}
				heard[n] = heard[n] || use.Settings["method"] != "plain"
			}
		}
	}
	return slices.DeleteFunc(notes, func(n note) bool { return heard[n] })
}

// orNone is the change before index i, or nil for 0.
func orNone(changes []change, i int) *change {
	if i == 0 {
		return nil
	}
	return &changes[i-1]
}

// setBy is what gives a stage's setting its value in a chain, as messages
// begin, and the line of it. Something does.
func (d *draft) setBy(variant, track *change, stage, key string) (label string, line int) {
	for _, ch := range []*change{track, variant} {
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
func beaten(track *change, all []chains) (notes []note) {
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
		notes = append(notes, note{track.line, fmt.Sprintf("stage %q: %s = %#v holds in [variant.%s]%s too, in place of its %#v", b.stage, b.key, b.own, key(b.variant), andMore(b.more), b.other)})
	}
	return notes
}

func roundedAgain(dithered, written int64) string {
	if dithered > written {
		return ": samples are rounded once more, without dither"
	}
	return ""
}

// behindHold notes what may pass the ceiling again behind the hold chain[i].
func behindHold(chain []stageUse, i int, add func(int, string, ...any)) {
	hold := chain[i]
	ceiling := hold.Settings["ceiling_dbfs"].(float64)
	for _, s := range chain[i+1:] {
		switch s.Kind {
		case "ceiling_hold":
			return // this one has the last word
		case "hard_clip", "oversampled_clip":
			add(hold.line, "stage %q holds the ceiling in front of the clip %q; a hold usually stands behind it", hold.Name, s.Name)
		case "gain":
			if s.Settings["gain_db"].(float64) > 0 {
				add(s.line, "stage %q lifts what %q holds; samples may pass its ceiling", s.Name, hold.Name)
			}
		case "dither":
			own, capped := s.Settings["ceiling_dbfs"].(float64)
			if s.Settings["bits"].(int64) <= 16 && (!capped || own > ceiling) {
				add(s.line, "stage %q may pass the ceiling of %q by up to %s; ceiling_dbfs = %v in it would hold it", s.Name, hold.Name, reach(s.Settings["density"]), ceiling)
			}
		}
	}
}

// reach is how far a dither of some density may move a sample: half a code of
// rounding and the largest value of its noise, which is half a code where that
// is even (rectangular) and a code where two such are added up (triangular).
func reach(density any) string {
	switch density {
	case "triangular":
		return "one and a half codes"
	case "rectangular":
		return "a code"
	}
	return "half a code"
}

// changesSamples is every stage that does something to the samples.
func changesSamples(s stageUse) bool { return s.Kind != "measure" && s.Kind != "dither" }

// firstAfter is the first such stage behind chain[i], or nil.
func firstAfter(chain []stageUse, i int, is func(stageUse) bool) *stageUse {
	for k := i + 1; k < len(chain); k++ {
		if is(chain[k]) {
			return &chain[k]
		}
	}
	return nil
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
func (b *notebook) lines(file string) (lines []string) {
	slices.SortStableFunc(b.notes, func(x, y note) int { return x.line - y.line })
	for _, n := range b.notes {
		lines = append(lines, Problem{File: file, Line: n.line, Text: n.text}.String())
	}
	return lines
}
