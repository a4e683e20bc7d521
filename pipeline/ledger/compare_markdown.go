package ledger

import (
	"io"
	"strings"
)

// Markdown writes the comparison for a pull request: headings, a list of the
// masters, a list of what was changed, a table of what moved, the totals.
func (c *Comparison) Markdown(w io.Writer) error {
	var text strings.Builder
	c.markdownMasters(&text)
	if len(c.Changes) > 0 {
		text.WriteString("### What was changed\n\n")
		for _, change := range c.Changes {
			text.WriteString("- " + escape(change.Line()) + "\n")
		}
		text.WriteByte('\n')
	}
	c.markdownMoves(&text)
	for _, ref := range c.Added {
		text.WriteString("- new track: " + escape(ref.String()) + "\n")
	}
	for _, ref := range c.Removed {
		text.WriteString("- track gone: " + escape(ref.String()) + "\n")
	}
	for i := range c.Trials {
		text.WriteString("- " + escape(c.Trials[i].String()) + "\n")
	}
	if len(c.Added)+len(c.Removed)+len(c.Trials) > 0 {
		text.WriteByte('\n')
	}
	text.WriteString("**" + escape(c.Summary()) + "**\n")
	_, err := io.WriteString(w, text.String())
	return err
}

// markdownMasters writes what the masters came to.
func (c *Comparison) markdownMasters(text *strings.Builder) {
	if len(c.Masters)+len(c.Unmoved) == 0 {
		return
	}
	text.WriteString("### The masters\n\n")
	for _, m := range c.Masters {
		var figures []string
		for _, x := range m.Figures {
			figures = append(figures, x.words(c.ToleranceDB))
		}
		text.WriteString("- " +
			escape(TrackRef{m.Track, m.Variant, m.Delivery}.String()+": "+strings.Join(figures, ", ")) + "\n")
	}
	if len(c.Unmoved) > 0 {
		text.WriteString("- " + escape(stillMasters+" "+strings.Join(c.unmoved(), "; ")) + "\n")
	}
	text.WriteByte('\n')
}

// markdownMoves writes the table of what moved, in the order of the terminal's.
func (c *Comparison) markdownMoves(text *strings.Builder) {
	if len(c.Moves) == 0 {
		return
	}
	text.WriteString("### What moved at the stages, losses first\n\n" +
		"| track | stage | figure | moved | by | from | to |\n" +
		"| --- | --- | --- | --- | ---: | ---: | ---: |\n")
	follow := 0
	for _, of := range c.byTrack() {
		for _, m := range of {
			if m.Follows {
				follow++
				continue
			}
			row := m.cells(c.ToleranceDB)
			for i, field := range []string{
				m.ref().String(), row[0].text, row[1].text, row[2].text, row[3].text,
				row[4].text + " " + m.levelUnit(m.Old), row[6].text + " " + row[7].text,
			} {
				text.WriteString([]string{"| ", " | "}[min(i, 1)] + escape(strings.TrimSpace(field)))
			}
			text.WriteString(" |\n")
		}
	}
	text.WriteByte('\n')
	if follow > 0 {
		text.WriteString("and " + many(follow, "figure") + " that moved along with these\n\n")
	}
}

// marks are the characters that mean something in markdown.
var marks = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`,
	"|", `\|`, "<", "&lt;", "&", "&amp;", "~", `\~`, "#", `\#`,
)

// escape makes markdown show a text unchanged.
func escape(text string) string { return marks.Replace(text) }
