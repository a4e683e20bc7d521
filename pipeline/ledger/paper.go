package ledger

import (
	"cmp"
	"fmt"
	"math"
	"path"
	"slices"
	"strings"
)

// Papers are the names of the texts that can go out with the files of a delivery, in its folder. What is in
// them is in the ledger.
var Papers = []string{SumsName, SheetName, SheetCSVName, CueName}

// Paper is the text of one of the papers of a delivery. It is empty of a delivery of which nothing is
// recorded.
func (l *Ledger) Paper(name, delivery string) string {
	switch name {
	case SumsName:
		return l.Sums(delivery)
	case SheetName:
		return l.sheet(delivery).text()
	case SheetCSVName:
		return l.sheet(delivery).csv()
	case CueName:
		return l.sheet(delivery).cue()
	}
	return ""
}

// ChangesOfHead lists what two ledgers say otherwise of the release as papers have it: its title, the order
// of its tracks, the gaps. The old one may be nil, and differs in nothing then.
func ChangesOfHead(old, is *Ledger) (changes []string) {
	if old == nil {
		return nil
	}
	if old.Title != is.Title {
		changes = append(changes, fmt.Sprintf("title %q -> %q", old.Title, is.Title))
	}
	if a, b := old.InOrder(), is.InOrder(); !slices.Equal(a, b) {
		changes = append(changes, fmt.Sprintf("order %s -> %s", listed(a), listed(b)))
	}
	if !slices.Equal(old.GapsS, is.GapsS) {
		changes = append(changes, fmt.Sprintf("gaps_s %s -> %s", listed(old.GapsS), listed(is.GapsS)))
	}
	return changes
}

// listed is a list as a release file has it.
func listed[T any](all []T) string {
	if len(all) == 0 {
		return "none"
	}
	texts := make([]string, len(all))
	for i, x := range all {
		texts[i] = fmt.Sprint(x)
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

// DiscFrame is how many frames of audio a frame of an audio disc has: 1/75 s at 44100 Hz.
const DiscFrame = 588

// A disc has so many of its frames a second.
const discFramesASecond = 75

// A sheet is what a delivery is, track by track as they follow each other.
type sheet struct {
	title    string // of the release
	delivery string
	first    *Track // the first track that is recorded; nil: none is
	rows     []sheetRow
	disc     bool  // 44100 Hz and 16 bits: lengths in frames of a disc are told
	frames   int64 // all tracks and gaps; -1: not known
	onDisc   int64 // the same in frames of a disc
}

// A sheetRow is a track of a sheet.
type sheetRow struct {
	name         string // of the track
	track        *Track // nil: it is not recorded
	start        int64  // frames; -1: not known, as after a track that is not recorded
	gap          int64  // frames of silence after it
	startOnDisc  int64  // frames of a disc; -1: not known
	lengthOnDisc int64  // rounded up, as whoever writes a disc fills up the last
	gapOnDisc    int64
}

// sheet gathers what the papers of a delivery say.
func (l *Ledger) sheet(delivery string) *sheet {
	s := &sheet{title: l.Title, delivery: delivery}
	recorded := map[string]*Track{}
	for i := range l.Tracks {
		t := &l.Tracks[i]
		if t.Delivery == delivery {
			recorded[t.Name] = t
			s.first = cmp.Or(s.first, t)
		}
	}
	if s.first == nil {
		return s
	}
	rate := s.first.rateOut()
	s.disc = rate == discFramesASecond*DiscFrame && s.first.Output.Encoding == "pcm16"
	for i, name := range l.InOrder() {
		r := sheetRow{name: name, track: recorded[name]}
		if i < len(l.GapsS) {
			r.gapOnDisc = nearest(l.GapsS[i] * discFramesASecond)
			if r.gap = nearest(l.GapsS[i] * float64(rate)); s.disc {
				r.gap = r.gapOnDisc * DiscFrame
			}
		}
		s.place(&r)
		s.rows = append(s.rows, r)
	}
	return s
}

// place finds where a row begins, and moves the end of the sheet after it. A gap at the end is none.
func (s *sheet) place(r *sheetRow) {
	r.start, r.startOnDisc = s.frames, s.onDisc
	if last := len(s.rows) - 1; last >= 0 && s.frames >= 0 {
		r.start += s.rows[last].gap
		r.startOnDisc += s.rows[last].gapOnDisc
	}
	if r.track != nil {
		r.lengthOnDisc = (r.track.Output.Frames + DiscFrame - 1) / DiscFrame
	}
	if r.track == nil || r.start < 0 {
		s.frames, s.onDisc = -1, -1
		return
	}
	s.frames, s.onDisc = r.start+r.track.Output.Frames, r.startOnDisc+r.lengthOnDisc
}

func nearest(x float64) int64 { return int64(math.Round(x)) }

// rateOut is the rate of the file, Hz.
func (t *Track) rateOut() int {
	if last := len(t.Boundaries) - 1; last >= 0 && t.Boundaries[last].RateHz != 0 {
		return t.Boundaries[last].RateHz
	}
	return t.Source.RateHz
}

// Written is the reading of the file: that at the end of the chain, or one of its own; nil: there is none.
func (t *Track) Written() *Boundary {
	if t.AsWritten != nil {
		return t.AsWritten
	}
	if last := len(t.Boundaries) - 1; last >= 0 {
		return &t.Boundaries[last]
	}
	return nil
}

// fileName is that of a track's file in the folder of the delivery.
func (r sheetRow) fileName() string { return path.Base(r.track.Output.File) }
