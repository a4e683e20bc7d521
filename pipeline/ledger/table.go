package ledger

import (
	"fmt"
	"strings"
)

// Track prints one track: a row per boundary, one for the whole chain, and under
// the table what has to be said in words.
func (p Printer) Track(t *Track) error {
	g := page{Printer: p}
	g.track(t)
	return g.flush()
}

// Summary prints the release in a line.
func (p Printer) Summary(l *Ledger) error { return p.Verdict(l.Brief(), 0, nil) }

// Verdict prints the release in a line, after a run in which so many renders
// failed, which have no entry, or an old one, that could say so; and in which
// these papers of deliveries could not be written.
func (p Printer) Verdict(b *Brief, failed int, papers []string) error {
	g := page{Printer: p}
	g.summary(b, failed, papers)
	return g.flush()
}

func (g *page) track(t *Track) {
	g.heading(t)
	table := grid{columns: []Column{
		{Head: "stage", Left: true},
		{Head: "sample", Unit: "dBFS", Gap: 1},
		{Head: "true", Unit: "dBTP", Gap: 1},
		{Head: "loudness", Unit: "LUFS", Gap: 1, Spare: 1},
		{Head: "headroom", Unit: "dB", Gap: 1, Spare: 4},
		{Head: "change", Unit: "dB", Gap: 1},
		{Gap: 1, Left: true},
		{Head: "net", Unit: "dB", Gap: 1},
		{Head: "true net", Unit: "dB", Gap: 1, Spare: 3},
		{Head: "overs", Gap: 1, Spare: 2},
	}}
	for k := range t.Boundaries {
		table.add(t.row(k)...)
	}
	if len(t.Stages) > 1 && len(t.Boundaries) > 0 {
		table.add(t.chainRow()...)
	}
	table.shorten = func(row, width int) string {
		text := table.rows[row][0].text
		if text == wholeChain && width < len(wholeChain) {
			return "(whole)"
		}
		return shorten(text, width)
	}
	g.grid(0, &table)
	g.remarks(t)
}

// wholeChain is the name of the last row.
const wholeChain = "(whole chain)"

// heading names the track and says what it is.
func (g *page) heading(t *Track) {
	about := fmt.Sprintf("%s, %s, %s, to %s", clock(t.Source.DurationS), t.rate(),
		many(t.Source.Channels, "channel"), shorten(clean(t.Output.Encoding), 7))
	name := shorten(clean(t.label()), max(g.tableWidth()-2-len(about), least))
	g.text.WriteString(g.paint(name, strong) + "  " + about + "\n")
}

// rate is that of the mix, and that of the master where it is another.
func (t *Track) rate() string {
	if last := len(t.Boundaries) - 1; last >= 0 {
		if to := t.Boundaries[last].RateHz; to != 0 && to != t.Source.RateHz {
			return fmt.Sprintf("%d to %d Hz", t.Source.RateHz, to)
		}
	}
	return fmt.Sprintf("%d Hz", t.Source.RateHz)
}

// row is the table's row of boundary k.
func (t *Track) row(k int) []cell {
	b := t.Boundaries[k]
	peak := figure(b.SamplePeakDBFS)
	if b.SamplePeakDBFS == nil {
		peak = "silent"
	}
	row := []cell{
		{text: clean(b.Stage)},
		{text: peak},
		{text: figure(b.TruePeakDBTP)},
		{text: figure(b.LoudnessLUFS)},
		{text: figure(b.HeadroomDB)},
	}
	if k == 0 || k > len(t.Stages) {
		return append(row, cell{}, cell{}, cell{}, cell{}, cell{})
	}
	s := t.Stages[k-1]
	return append(row, s.outcome().cells(s.Ceiling)...)
}

// chainRow is what the whole chain came to.
func (t *Track) chainRow() []cell {
	return append([]cell{{text: wholeChain}, {}, {}, {}, {}}, t.outcome().cells(nil)...)
}

// cells are the change, its word, the nets and the overs.
func (o outcome) cells(c *Ceiling) []cell {
	word, tone := o.verdict()
	overs := cell{}
	if c != nil {
		overs.text = count(c.Overs)
		if c.Overs > 0 {
			overs.tone = notice
		}
	}
	return []cell{
		{signed(o.change), tone}, {word, tone}, {signed(o.net), o.toneOf(o.net)},
		{signed(o.trueNet), o.toneOf(o.trueNet)}, overs,
	}
}

// remarks says under a table what a table cannot.
func (g *page) remarks(t *Track) {
	for _, s := range t.Stages {
		if text, tone := s.remark(); text != "" {
			g.line(2, tone, text)
		}
	}
	g.heard(t)
	if text, tone := t.readings(); text != "" {
		g.line(2, tone, text)
	}
}

// nonFinite names the first boundary with samples that are not finite.
func (t *Track) nonFinite() string {
	for _, b := range t.Boundaries {
		if b.NonFiniteSamples == 0 {
			continue
		}
		text := fmt.Sprintf("%s has %s of NaN or infinity", clean(b.Stage), many(b.NonFiniteSamples, "sample"))
		if b.FirstNonFiniteTimeS != nil {
			text += fmt.Sprintf(", the first at %.6f s", *b.FirstNonFiniteTimeS)
		}
		return text
	}
	return ""
}

// summary is the release in a line.
func (g *page) summary(b *Brief, failed int, papers []string) {
	sum, tone := b.Totals, plain
	parts := []string{
		many(sum.Tracks, "track"), clock(sum.DurationS), many(sum.Overs, "over"),
	}
	add := func(n int64, text string) {
		if n > 0 {
			parts, tone = append(parts, text), alarm
		}
	}
	if sum.TrueOvers > 0 {
		parts, tone = append(parts, b.trueOversTold()), notice
	}
	if failed > 0 && len(b.Rows) == 0 {
		parts = []string{"no track was rendered"}
	}
	add(int64(failed), many(failed, "render")+" FAILED")
	add(int64(len(papers)), namesOf(papers)+" FAILED")
	add(sum.LimitedSamples, many(sum.LimitedSamples, "limited sample"))
	add(sum.NonFiniteSamples, many(sum.NonFiniteSamples, "sample")+" not finite")
	add(int64(sum.RequirementsFailed), many(sum.RequirementsFailed, "requirement")+" FAILED")
	if kept := b.requirements() - sum.RequirementsFailed; kept > 0 && sum.RequirementsFailed == 0 {
		parts = append(parts, many(kept, "requirement")+" met")
	}
	g.lastLine(tone, clean(b.Title)+": "+strings.Join(parts, ", "))
}

// papersTold is how many papers a line names before it only counts them: those of one delivery.
const papersTold = 4

// namesOf lists papers, the first ones by name.
func namesOf(papers []string) string {
	told := clean(strings.Join(papers[:min(papersTold, len(papers))], ", "))
	if more := len(papers) - papersTold; more > 0 {
		told += fmt.Sprintf(" and %d more", more)
	}
	return told
}

// trueOversTold is in how many tracks the true peak is over. Where a track counts
// more than once, for its variants, it is of renders.
func (b *Brief) trueOversTold() string {
	thing := "track"
	if len(b.Rows) != b.Totals.Tracks {
		thing = "render"
	}
	return fmt.Sprintf("true peak over the ceiling in %d of %s", b.Totals.TrueOvers, many(len(b.Rows), thing))
}

// requirements is how many requirements the rows have.
func (b *Brief) requirements() int {
	n := 0
	for i := range b.Rows {
		n += b.Rows[i].Requirements
	}
	return n
}
