package ledger

import (
	"slices"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// cell is one field of a grid. Its text is clean.
type cell struct {
	text string
	tone tone
}

// A Column is the layout of a table's column.
type Column struct {
	Head, Unit string // the two lines of the heading
	Gap        int    // spaces before it, at least
	Least      int    // its width, at least
	Left       bool   // names and words are set left, figures right
	Spare      int    // a narrow terminal goes without the column of the greatest number first; 0: never
}

// grid is a table without rules. The first column narrows if the others need its room.
type grid struct {
	columns []Column
	rows    [][]cell
	shorten func(row, width int) string // the first column's text; nil: it is cut at its end
}

// least is the width that the first column keeps.
const least = 8

// add appends a row: a cell per column, or one cell that may run across them all.
func (t *grid) add(row ...cell) { t.rows = append(t.rows, row) }

// widths finds how wide the columns have to be to fit in the given width.
func (t *grid) widths(width int) []int {
	w := make([]int, len(t.columns))
	taken := 0
	for c, col := range t.columns {
		w[c] = max(displayed(col.Head), displayed(col.Unit), col.Least)
		for _, row := range t.rows {
			if len(row) > 1 {
				w[c] = max(w[c], displayed(row[c].text))
			}
		}
		if c > 0 {
			taken += col.Gap + w[c]
		}
	}
	w[0] = min(w[0], max(width-taken, least))
	return w
}

// width is how wide the table is with at most so much of the first column.
func (t *grid) width(first int) int {
	w := t.widths(unlimited)
	sum := min(w[0], first)
	for c := 1; c < len(w); c++ {
		sum += t.columns[c].Gap + w[c]
	}
	return sum
}

// fit leaves columns out, those that can be spared most first, until the table with so much
// of its first column fits in the width.
func (t *grid) fit(width, first int) {
	for t.width(first) > width {
		c := 0
		for i, col := range t.columns {
			if col.Spare > t.columns[c].Spare {
				c = i
			}
		}
		if t.columns[c].Spare == 0 {
			return
		}
		t.columns = slices.Delete(t.columns, c, c+1)
		for i, row := range t.rows {
			if len(row) > 1 {
				t.rows[i] = slices.Delete(row, c, c+1)
			}
		}
	}
}

// firstWanted is how much of the first column other columns leave, if they can.
const firstWanted = 10

// grid adds a table to the page, set in by some spaces: as wide as the terminal at most, and
// elsewhere as wide as it needs to be.
func (g *page) grid(indent int, t *grid) {
	t.fit(g.tableWidth()-indent, firstWanted)
	g.gridWithin(g.tableWidth(), indent, t)
}

// gridWithin adds a table that keeps to a width.
func (g *page) gridWithin(width, indent int, t *grid) {
	w := t.widths(width - indent)
	heads := make([]cell, len(t.columns))
	units := make([]cell, len(t.columns))
	for c, col := range t.columns {
		heads[c], units[c] = cell{col.Head, strong}, cell{col.Unit, plain}
	}
	for _, line := range [][]cell{heads, units} {
		if slices.ContainsFunc(line, func(c cell) bool { return c.text != "" }) {
			g.row(width, indent, t, w, line)
		}
	}
	for i, row := range t.rows {
		if t.shorten != nil && len(row) > 1 {
			row = append([]cell{{t.shorten(i, w[0]), row[0].tone}}, row[1:]...)
		}
		g.row(width, indent, t, w, row)
	}
}

// row adds one line of a table. Spaces are left uncoloured, and none ends a line.
func (g *page) row(width, indent int, t *grid, w []int, row []cell) {
	if len(row) == 1 {
		text := shorten(row[0].text, width-indent)
		g.text.WriteString(strings.Repeat(" ", indent) + g.paint(text, row[0].tone) + "\n")
		return
	}
	owed := indent // spaces not yet written
	for c, col := range t.columns {
		text := shorten(row[c].text, w[c])
		room := w[c] - displayed(text)
		owed += col.Gap
		if !col.Left {
			owed += room
		}
		if text != "" {
			g.text.WriteString(strings.Repeat(" ", owed) + g.paint(text, row[c].tone))
			owed = 0
		}
		if col.Left {
			owed += room
		}
	}
	g.text.WriteByte('\n')
}

// displayed is how many columns a text takes. Nearly all are of plain ASCII.
func displayed(text string) int {
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return ansi.StringWidth(text)
		}
	}
	return len(text)
}
