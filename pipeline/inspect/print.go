package inspect

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/charmbracelet/x/ansi"

	"ledgerline/pipeline/ledger"
)

// Print writes what was found in mixes for people: every figure of one mix, a table of
// the main ones of several. Lines fit into columns where they can; 0 is any width.
func Print(w io.Writer, found []*Mix, columns int) error {
	var b strings.Builder
	if len(found) == 1 {
		found[0].print(&b)
	} else {
		printTable(&b, found, columns)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// print writes every figure.
func (m *Mix) print(b *strings.Builder) {
	r := m.Reading
	fmt.Fprintf(b, "%s\n%s\n\n", m.shown(), m.form())
	peak := ""
	if r.SamplePeakTimeS != nil {
		peak = fmt.Sprintf("at %s in channel %d", clock(*r.SamplePeakTimeS), r.SamplePeakChannel)
	}
	table := ledger.Table{
		Columns: []ledger.Column{
			{Least: 20, Left: true}, {Gap: 1, Least: 8}, {Gap: 1, Least: 5, Left: true}, {Gap: 2, Left: true},
		},
	}
	row := func(texts ...string) { table.Rows = append(table.Rows, texts) }
	row("sample peak", figure(r.SamplePeakDBFS), "dBFS", peak)
	row("true peak", figure(r.TruePeakDBTP), "dBTP", "")
	row("true peak, bs1770", figure(m.TruePeakBS1770DBTP), "dBTP",
		"as the 48 taps of BS.1770-5, Annex 2, read it")
	row("true peak, sinc49", figure(m.TruePeakSinc49DBTP), "dBTP", "as a windowed sinc of 49 taps reads it")
	row("loudness", figure(r.LoudnessLUFS), "LUFS", "integrated")
	row("loudness range", figure(r.LoudnessRangeLU), "LU", "")
	row("loudest 400 ms", figure(r.MomentaryMaxLUFS), "LUFS", "momentary")
	row("loudest 3 s", figure(r.ShortTermMaxLUFS), "LUFS", "short-term")
	row("RMS", figure(r.RMSDBFS), "dBFS", "")
	row("crest factor", figure(r.CrestFactorDB), "dB", "")
	row("peak to loudness", figure(r.PeakToLoudnessLU), "LU", "true peak above integrated loudness")
	row("silence at head", fmt.Sprintf("%.3f", m.SilenceHeadS), "s", fmt.Sprintf("below %d dBFS", silenceDBFS))
	row("silence at tail", fmt.Sprintf("%.3f", m.SilenceTailS), "s", "")
	_ = ledger.Printer{Out: b}.Table(2, table) // a builder takes everything
	if len(m.Findings) > 0 {
		b.WriteString("\n")
		m.printFindings(b)
	}
}

func (m *Mix) printFindings(b *strings.Builder) {
	for _, f := range m.Findings {
		fmt.Fprintf(b, "  ! %s\n", f.Text)
	}
}

// shown is the file's name with what does not print escaped, so that no name breaks a
// line or controls the terminal. The joiners that some scripts need stay.
func (m *Mix) shown() string {
	if !strings.ContainsFunc(m.File, func(r rune) bool {
		return r == utf8.RuneError || !unicode.IsPrint(r) && r != '\u200c' && r != '\u200d'
	}) {
		return m.File
	}
	quoted := strconv.Quote(m.File)
	return quoted[1 : len(quoted)-1]
}

// form is the file's form in words.
func (m *Mix) form() string {
	channels := plural(int64(m.Channels), "channel")
	return fmt.Sprintf("%s, %d Hz, %s, %s", m.Encoding, m.RateHz, channels, clock(m.DurationS))
}

// figure is a level as it is printed, "--" where there is none.
func figure(x *float64) string {
	if x == nil {
		return "--"
	}
	return fixed(*x, 2)
}

func printTable(b *strings.Builder, found []*Mix, columns int) {
	table := ledger.Table{
		Columns: []ledger.Column{
			{Unit: "file", Left: true},
			{Head: "length", Gap: 1, Least: 9},
			{Head: "peak", Unit: "dBFS", Gap: 1, Least: 7},
			{Head: "true", Unit: "dBTP", Gap: 1, Least: 7},
			{Head: "loudness", Unit: "LUFS", Gap: 1, Least: 9},
			{Head: "range", Unit: "LU", Gap: 1, Least: 6},
			{Head: "loudest", Unit: "3 s", Gap: 1, Least: 8},
			{Head: "crest", Unit: "dB", Gap: 1, Least: 6},
		},
		Shorten: func(row, width int) string { return ending(found[row].shown(), width) },
	}
	for _, m := range found {
		r := m.Reading
		table.Rows = append(table.Rows, []string{m.shown(), clock(m.DurationS), figure(r.SamplePeakDBFS),
			figure(r.TruePeakDBTP),
			figure(r.LoudnessLUFS), figure(r.LoudnessRangeLU), figure(r.ShortTermMaxLUFS), figure(r.CrestFactorDB)})
	}
	_ = ledger.Printer{Out: b, Columns: columns}.Table(0, table) // a builder takes everything
	for _, m := range found {
		if len(m.Findings) > 0 {
			fmt.Fprintf(b, "\n%s\n", m.shown())
			m.printFindings(b)
		}
	}
}

// ending is the end of a text that fits into so many columns.
func ending(text string, columns int) string {
	over := ansi.StringWidth(text) - columns
	if over <= 0 {
		return text
	}
	return ansi.TruncateLeft(text, over+3, "...")
}

// Encode writes what was found in mixes as JSON: an object with a list of
// them, a key a line, in a fixed order.
func Encode(w io.Writer, found []*Mix) error {
	if found == nil {
		found = []*Mix{}
	}
	return ledger.EncodeJSON(w, struct {
		Schema int    `json:"schema"`
		Mixes  []*Mix `json:"mixes"`
	}{Schema, found})
}
