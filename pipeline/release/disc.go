package release

import (
	"fmt"

	"ledgerline/pipeline/audiofile"
)

// What an audio disc has, by common practice after IEC 60908 (from memory; the standard is not at hand).
const (
	discRateHz      = 44100
	mostDiscTracks  = 99
	leastDiscTrackS = 4
)

// at is a line as messages name it.
func (c *checker) at(line int) string {
	p := c.problem(line, "")
	return fmt.Sprintf("%s:%d", p.File, p.Line)
}

// discRate reports whole frames of a disc at another rate, where a stage of the delivery says it. Where the
// rate is that of the mix, Unfit does.
func (c *checker) discRate(x deliveryDraft) {
	own := x.own()
	at := -1
	for i := range own {
		if own[i].Of().Rate != nil {
			at = i
		}
	}
	if x.discAt == "" || at < 0 {
		return
	}
	if hz := own[at].Of().Rate(own[at].Settings); hz != discRateHz {
		c.add(x.discLine,
			"%sdisc_frames = true is for %d Hz, and stage %q hands on %d Hz; "+
				"want rate_hz = %d there, or no disc_frames", x.label, discRateHz, own[at].Name, hz, discRateHz)
	}
}

// discNotes are the notes on what is odd for a disc about a delivery of so many tracks.
func (x deliveryDraft) discNotes(tracks int) (notes []note) {
	if x.cue && x.discAt == "" {
		notes = append(notes, note{x.cueLine,
			"cue = true without disc_frames = true: whoever writes the disc fills up the last frame of each track, " +
				"which is heard where tracks run into each other"})
	}
	if tracks > mostDiscTracks && (x.cue || x.discAt != "") {
		notes = append(notes, note{x.line, fmt.Sprintf(
			"%d tracks, and a disc has %d at most", tracks, mostDiscTracks)})
	}
	return notes
}

// ForDisc says whether a render is of a delivery for a disc.
func (x *Render) ForDisc() bool { return x.Cue || x.DiscFrames != "" }

// shortTracks are the mixes, as headers tell, that are too short for a track of a disc that the release
// delivers.
func (r *Release) shortTracks() *group {
	short, seen := &group{}, map[string]bool{}
	for i := range r.Renders {
		x := &r.Renders[i]
		if !x.ForDisc() || seen[x.Source] {
			continue
		}
		seen[x.Source] = true
		f, err := audiofile.Open(x.Source)
		if err != nil {
			continue
		}
		info := f.Info()
		f.Close()
		if info.Frames < leastDiscTrackS*int64(info.Rate) {
			short.add(x.SourceAsWritten)
		}
	}
	return short
}
