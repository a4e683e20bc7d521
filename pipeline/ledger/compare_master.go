package ledger

import (
	"math"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// MasterMoves are the figures of one master that moved.
type MasterMoves struct {
	Track    string         `json:"track"`
	Variant  string         `json:"variant,omitempty"`  // empty: the release's own chain
	Delivery string         `json:"delivery,omitempty"` // empty: the variant's own render
	Figures  []MasterFigure `json:"figures"`            // one or more
}

// MasterFigure is a figure of a master that moved.
type MasterFigure struct {
	// loudness_lufs, true_peak_dbtp, true_peak_bs1770_dbtp and true_peak_sinc49_dbtp where asked for, and the
	// whole chain's net_db, true_net_db, removed_db, noise_to_mask_db, disturbed_percent
	Figure string   `json:"figure"`
	Unit   string   `json:"unit"` // LUFS, dBTP, dB, %
	Old    *float64 `json:"old"`  // null: it did not exist
	New    *float64 `json:"new"`  // null: it does not exist
	By     *float64 `json:"by"`   // new minus old, dB or LU; null where one does not exist
	// a loss: the true peak rose over the ceiling, or net fell though no less was removed
	Worse bool `json:"worse"`
}

// masterFigure is one figure of a master that is compared.
type masterFigure struct {
	key, name, unit string
	signed          bool
	of              func(t *Track, whole bool) *float64
}

var masterFigures = []masterFigure{
	{"loudness_lufs", "loudness", "LUFS", false, func(t *Track, _ bool) *float64 {
		_, end := t.ends()
		return end.LoudnessLUFS
	}},
	{"true_peak_dbtp", "true peak", "dBTP", false, func(t *Track, _ bool) *float64 {
		_, end := t.ends()
		return end.TruePeakDBTP
	}},
	shortFigure(shortReadings[0]),
	shortFigure(shortReadings[1]),
	{"net_db", "net", "dB", true, func(t *Track, whole bool) *float64 { return t.wholeBy(whole).NetDB }},
	{"true_net_db", "true net", "dB", true, func(t *Track, whole bool) *float64 {
		return t.wholeBy(whole).TrueNetDB
	}},
	{"removed_db", "removed", "dB", false, func(t *Track, whole bool) *float64 {
		if !whole {
			return nil
		}
		return wholeRemoved(t)
	}},
	{"noise_to_mask_db", "noise to mask", "dB", false, func(t *Track, _ bool) *float64 {
		return t.heard().noiseToMask()
	}},
	{"disturbed_percent", "disturbed", "%", false, func(t *Track, _ bool) *float64 {
		return t.heard().disturbed()
	}},
}

// shortFigure is a reading, where both records have readings.
func shortFigure(r shortReading) masterFigure {
	return masterFigure{r.figure, "by " + r.meter, "dBTP", false, func(t *Track, whole bool) *float64 {
		if !whole {
			return nil
		}
		return r.of(t.Whole)
	}}
}

// unasked is a short filter's figure that neither track asks for.
func (f masterFigure) unasked(old, new *Track) bool {
	for _, r := range shortReadings {
		if r.figure == f.key {
			return !old.asksFor(r) && !new.asksFor(r)
		}
	}
	return false
}

// wholeBy is the chain as one stage as recorded or, if one of two records is of an earlier
// version, from the figures that both have.
func (t *Track) wholeBy(recorded bool) *Whole {
	if !recorded {
		t = &Track{Boundaries: t.Boundaries}
	}
	return t.whole()
}

// masterMoves finds what moved of a master by more than the tolerance. The
// ceiling is the new release's, dBFS.
func masterMoves(old, new *Track, ceilingDBFS, toleranceDB float64) MasterMoves {
	m := MasterMoves{Track: new.Name, Variant: new.Variant, Delivery: new.Delivery}
	whole := old.Whole != nil && new.Whole != nil
	heard := old.heard() != nil && new.heard() != nil
	for _, f := range masterFigures {
		if f.unasked(old, new) {
			continue
		}
		x := MasterFigure{Figure: f.key, Unit: f.unit, Old: f.of(old, whole), New: f.of(new, whole)}
		switch {
		case x.Old == nil && x.New == nil, !heard && (f.key == "noise_to_mask_db" || f.key == "disturbed_percent"):
			continue
		case x.Old != nil && x.New != nil:
			x.By = minus(x.New, x.Old)
			if math.Abs(*x.By) <= toleranceDB {
				continue
			}
		}
		x.Worse = x.worse(old, new, ceilingDBFS)
		m.Figures = append(m.Figures, x)
	}
	return m
}

// worse reports whether a figure's move is a loss. Less loudness, and less net
// because less is removed, are choices.
func (x MasterFigure) worse(old, new *Track, ceilingDBFS float64) bool {
	if x.By == nil {
		return false
	}
	switch x.Figure {
	case "true_peak_dbtp", shortReadings[0].figure, shortReadings[1].figure:
		return *x.By > 0 && *x.New > ceilingDBFS
	case "net_db", "true_net_db":
		return *x.By < 0 && !lessRemoved(old, new)
	}
	return false
}

// lessRemoved reports whether the chain removes less than before.
func lessRemoved(old, new *Track) bool {
	was, is := wholeRemoved(old), wholeRemoved(new)
	if old.Whole == nil || new.Whole == nil {
		was, is = old.mostRemoved(), new.mostRemoved()
	}
	return was != nil && (is == nil || *is < *was)
}

// mostRemoved is the removed level of the stage that removed most.
func (t *Track) mostRemoved() (most *float64) {
	for _, s := range t.Stages {
		if s.Ceiling == nil || s.kind().Reads { // a measure cuts nothing
			continue
		}
		if x := s.Ceiling.RemovedDB; x != nil && (most == nil || *x > *most) {
			most = x
		}
	}
	return most
}

// MasterMoved says in words which figures of a master moved from one entry to
// another by more than the default tolerance, "" where none did:
// "loudness -12.88 -> -13.36 LUFS, net +4.46 -> +4.11 dB". Nil has no figures.
func MasterMoved(old, new *Track) string {
	if old == nil || new == nil {
		return ""
	}
	var words []string
	for _, x := range masterMoves(old, new, 0, DefaultToleranceDB).Figures {
		words = append(words, x.words(DefaultToleranceDB))
	}
	return strings.Join(words, ", ")
}

// words is the figure with its name and unit.
func (x MasterFigure) words(toleranceDB float64) string {
	for _, f := range masterFigures {
		if f.key == x.Figure {
			return f.name + " " + f.show(x.Old, toleranceDB) + " -> " + f.show(x.New, toleranceDB) + " " + f.unit
		}
	}
	return ""
}

func (f masterFigure) show(x *float64, toleranceDB float64) string {
	if x == nil {
		return none
	}
	text := finer(*x, toleranceDB)
	if f.signed && !strings.HasPrefix(text, "-") && strings.Trim(text, "0.") != "" {
		text = "+" + text
	}
	return text
}

// masters lists the masters' figures, a line each. On a terminal a line that is
// too long is broken between two figures.
func (g *page) masters(c *Comparison) {
	if len(c.Masters)+len(c.Unmoved) == 0 {
		return
	}
	g.line(0, strong, "the masters")
	for _, m := range c.Masters {
		name := TrackRef{m.Track, m.Variant, m.Delivery}.String()
		if g.Columns > 0 {
			name = LabelWithin(m.Track, Version(m.Variant, m.Delivery), max(g.Columns/2, least))
		}
		parts := []cell{{name + ":", strong}}
		for i, x := range m.Figures {
			text := x.words(c.ToleranceDB)
			if i < len(m.Figures)-1 {
				text += ","
			}
			parts = append(parts, cell{text, x.tone()})
		}
		g.phrases(2, parts)
	}
	if len(c.Unmoved) > 0 {
		parts := []cell{{text: stillMasters}}
		for i, name := range c.unmoved() {
			if i < len(c.Unmoved)-1 {
				name += ";"
			}
			parts = append(parts, cell{text: name})
		}
		g.phrases(2, parts)
	}
	g.blank()
}

// stillMasters comes before the names of the masters that changed and of which no figure moved.
const stillMasters = "other bytes, but no figure moved:"

// unmoved names these masters.
func (c *Comparison) unmoved() []string {
	names := make([]string, len(c.Unmoved))
	for i, ref := range c.Unmoved {
		names[i] = ref.String()
	}
	return names
}

// phrases adds texts that are not broken, with a space between them, and breaks
// the line between two of them where the terminal ends.
func (g *page) phrases(indent int, parts []cell) {
	at := indent
	g.text.WriteString(strings.Repeat(" ", indent))
	for i, part := range parts {
		width := ansi.StringWidth(part.text)
		switch {
		case i == 0:
		case g.Columns > 0 && at+1+width > g.Columns:
			at = indent + 4
			g.text.WriteString("\n" + strings.Repeat(" ", at))
		default:
			at++
			g.text.WriteByte(' ')
		}
		g.text.WriteString(g.paint(part.text, part.tone))
		at += width
	}
	g.text.WriteByte('\n')
}

func (x MasterFigure) tone() tone {
	switch {
	case x.Worse:
		return alarm
	case strings.HasSuffix(x.Figure, "net_db") && x.By != nil && *x.By > 0:
		return good
	}
	return plain
}
