package release

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages/ear"
)

// MixNotes are what the headers of a release's mixes tell that is legal but odd:
// different rates, no frames, chunks that the masters will not have. Each oddity
// is told once, however many mixes have it. It opens every mix and reads no
// audio; a mix that cannot be opened is skipped.
func (r *Release) MixNotes() (notes []string) {
	rates := map[int]*group{}
	empty, chunky, unheard, placeless := &group{}, &group{}, &group{}, &group{}
	var chunks, nowhere []string
	keep, flac := r.carries()
	for i := range r.Renders {
		if i > 0 && r.Renders[i].Source == r.Renders[i-1].Source {
			continue
		}
		name := r.Renders[i].SourceAsWritten
		f, err := audiofile.Open(r.Renders[i].Source)
		if err != nil {
			continue
		}
		info, beside := f.Info(), f.Chunks()
		f.Close()
		if rates[info.Rate] == nil {
			rates[info.Rate] = &group{}
		}
		rates[info.Rate].add(name)
		if r.Audibility.Measure && ear.WindowFrames(info.Rate) == 0 {
			unheard.add(name)
		}
		if info.Frames == 0 {
			empty.add(name)
		}
		if keep && flac && slices.ContainsFunc(beside, audiofile.Carries) {
			placeless.add(name)
			nowhere = append(nowhere, slices.DeleteFunc(slices.Clone(beside), func(c string) bool {
				return !audiofile.Carries(c)
			})...)
		}
		if keep {
			beside = slices.DeleteFunc(beside, audiofile.Carries)
		}
		if len(beside) > 0 {
			chunky.add(name)
			chunks = append(chunks, beside...)
		}
	}
	if len(rates) > 1 {
		notes = append(notes, "the mixes have different rates: "+rateList(rates))
	}
	if unheard.n > 0 {
		notes = append(notes,
			unheard.say("has a rate that the ear model has no windows for: its noise to mask is not measured, and "+
				"fails no requirement",
				"have rates that the ear model has no windows for: their noise to mask is not measured, and fails "+
					"no requirement"))
	}
	if empty.n > 0 {
		notes = append(notes, empty.say("is empty: it has no frames", "are empty, without a frame"))
	}
	if chunky.n > 0 {
		slices.Sort(chunks)
		list := fewOf(slices.Compact(chunks))
		notes = append(notes, chunky.say("has chunks that its master will not carry: "+list,
			"have chunks that the masters will not carry: "+list))
	}
	if placeless.n > 0 {
		slices.Sort(nowhere)
		list := fewOf(slices.Compact(nowhere))
		notes = append(notes, placeless.say("has chunks that a FLAC file has no place for: "+list,
			"have chunks that FLAC files have no place for: "+list))
	}
	if short := r.shortTracks(); short.n > 0 {
		notes = append(notes, short.say("is shorter than 4 s, the least that a track of a disc has",
			"are shorter than 4 s, the least that a track of a disc has"))
	}
	return notes
}

// carries says whether masters carry over the chunks of the mixes, and whether some are FLAC, which cannot.
func (r *Release) carries() (keep, flac bool) {
	for i := range r.Renders {
		keep = keep || r.Renders[i].KeepChunks
		flac = flac || r.Renders[i].Container == audiofile.FLAC
	}
	return keep, flac
}

// SilentMixes is the note on the mixes whose samples are all zero: silent has their tracks; none where
// there is none. Mixes without a frame are not among them.
func (r *Release) SilentMixes(silent map[string]bool) []string {
	g := &group{}
	for i := range r.Renders {
		if x := &r.Renders[i]; (i == 0 || r.Renders[i-1].Track != x.Track) && silent[x.Track] {
			g.add(x.SourceAsWritten)
		}
	}
	if g.n == 0 {
		return nil
	}
	return []string{g.say("is silent: all its samples are zero", "are silent: all their samples are zero")}
}

// group is how many mixes have something in common, and the first of them.
type group struct {
	n     int
	first string
}

func (g *group) add(name string) {
	if g.n++; g.n == 1 {
		g.first = name
	}
}

// say is what is to be said of one mix by its name, or of several.
func (g *group) say(one, several string) string {
	if g.n == 1 {
		return g.first + " " + one
	}
	return fmt.Sprintf("%d mixes %s (first: %s)", g.n, several, g.first)
}

// rateList is how many mixes have which rate.
func rateList(rates map[int]*group) string {
	var parts []string
	for _, rate := range slices.Sorted(maps.Keys(rates)) {
		part := fmt.Sprintf("1 has %d Hz (%s)", rate, rates[rate].first)
		if n := rates[rate].n; n > 1 {
			part = fmt.Sprintf("%d have %d Hz (first: %s)", n, rate, rates[rate].first)
		}
		parts = append(parts, part)
	}
	return enumerate(parts, "and")
}

// fewOf names the first few of many words.
func fewOf(words []string) string {
	const few = 8
	if more := len(words) - few; more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(words[:few], ", "), more)
	}
	return strings.Join(words, ", ")
}
