package ledger

// A Table is what is printed beside ledgers: rows of texts, a text for each column.
type Table struct {
	Columns []Column
	Rows    [][]string
	// the first column's text on a narrow terminal; nil: it is cut at its end
	Shorten func(row, width int) string
}

// Table prints a table, set in by some spaces: as wide as the terminal at most, and as
// wide as it needs to be elsewhere.
func (p Printer) Table(indent int, t Table) error {
	table := grid{columns: t.Columns, shorten: t.Shorten}
	for _, texts := range t.Rows {
		row := make([]cell, len(texts))
		for c, text := range texts {
			row[c].text = text
		}
		table.add(row...)
	}
	width := p.Columns
	if width == 0 {
		width = indent + table.width(1<<20)
	}
	g := page{Printer: p}
	g.gridWithin(width, indent, &table)
	return g.flush()
}
