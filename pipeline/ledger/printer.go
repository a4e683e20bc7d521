package ledger

import (
	"io"
	"strings"
	"unicode"

	"github.com/charmbracelet/x/ansi"
)

// columns is the width that texts keep to.
const columns = 80

// unlimited is a width that nothing reaches.
const unlimited = 1 << 30

// A Printer writes ledgers and comparisons for people. Texts are at most 80 columns wide;
// tables, a comparison's lines of a track each and the last line are as wide as the
// terminal at most, and as wide as they need to be elsewhere.
// Words and signs say everything; colour only repeats it. Apart from
// names, which may hold any letters, its text is ASCII. It is not safe for use by
// several goroutines at once.
type Printer struct {
	Out    io.Writer
	Colour bool // for a terminal that wants it; without it there are no control codes

	Columns int // of the terminal; 0: it is none
}

// tone is what a colour repeats.
type tone int

const (
	plain  tone = iota
	strong      // headings
	good        // headroom was gained, or a failure is gone
	notice      // headroom was lost, perhaps on purpose: by turning up
	alarm       // headroom was lost at equal loudness, or something failed
)

// inks switch the tones on (ECMA-48, select graphic rendition). They use the
// terminal's own colours, which suit its background.
var inks = map[tone]string{
	strong: "\x1b[1m",
	good:   "\x1b[32m",
	notice: "\x1b[33m",
	alarm:  "\x1b[1;31m",
}

// uncoloured switches every tone off.
const uncoloured = "\x1b[m"

// paint colours a text of one line.
func (p Printer) paint(text string, t tone) string {
	if !p.Colour || t == plain || text == "" {
		return text
	}
	return inks[t] + text + uncoloured
}

// page gathers what is printed, so that it reaches the terminal in one write.
type page struct {
	Printer
	text strings.Builder
}

// flush writes the page out.
func (g *page) flush() error {
	_, err := io.WriteString(g.Out, g.text.String())
	return err
}

// line adds a text in one tone, wrapped between words; further lines are set in
// by four more spaces than the first.
func (g *page) line(indent int, t tone, text string) {
	g.wrapped(g.width(), indent, t, text)
}

// lastLine adds the last line of what is printed. It is broken only on a terminal, so that
// a program that reads the last line has all of it.
func (g *page) lastLine(t tone, text string) {
	g.wrapped(g.tableWidth(), 0, t, text)
}

func (g *page) wrapped(width, indent int, t tone, text string) {
	at := indent
	for _, part := range wrap(text, width-indent-4) {
		g.text.WriteString(strings.Repeat(" ", at) + g.paint(part, t) + "\n")
		at = indent + 4
	}
}

// width is the width of texts: 80 columns, or fewer on a narrower terminal.
func (p Printer) width() int {
	if p.Columns > 0 {
		return max(min(p.Columns, columns), 20)
	}
	return columns
}

// tableWidth is the width of tables and of the last line: the terminal's.
func (p Printer) tableWidth() int {
	if p.Columns > 0 {
		return max(p.Columns, 20)
	}
	return unlimited
}

// blank adds an empty line.
func (g *page) blank() { g.text.WriteByte('\n') }

// wrap breaks a text at spaces into lines of at most the width, the first of
// which may be four longer. A longer word is cut.
func wrap(text string, width int) []string {
	var lines []string
	now, room := "", width+4
	for word := range strings.FieldsSeq(text) {
		switch {
		case now == "":
			now = word
		case ansi.StringWidth(now)+1+ansi.StringWidth(word) <= room:
			now += " " + word
		default:
			lines = append(lines, now)
			now, room = word, width
		}
		now = shorten(now, room)
	}
	return append(lines, now)
}

// shorten cuts a text to a width and marks the cut.
func shorten(text string, width int) string {
	return ansi.Truncate(text, max(width, 0), "...")
}

// clean is a name without what could steer a terminal or turn the direction of
// the text: control and format characters, but not the joiners that some scripts
// need.
func clean(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) || r == '\u200c' || r == '\u200d' {
			return r
		}
		return '?'
	}, name)
}
