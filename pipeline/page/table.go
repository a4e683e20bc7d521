package page

// A table is figures in rows. Each cell knows its column's name, so that a narrow page can show a row as a
// list.
type table struct {
	Caption string
	Hidden  bool // the caption is for readers who do not see the table
	Stack   bool // on a narrow page each row is a list
	Heads   []head
	Rows    []row
}

type head struct {
	Text, Unit string
	Left       bool // words, not figures
}

type row struct {
	Cells []cell
	First bool // of a group of rows
}

type cell struct {
	Text string
	Of   string // its column's name
	Head bool   // it names the row
	Left bool
	Bad  bool
	Link string // where it leads to; empty: nowhere
	Hash bool   // to be broken anywhere
}

// add appends a row of texts, of which the first names it.
func (t *table) add(texts ...string) *row {
	r := row{}
	for i, text := range texts {
		h := t.Heads[i]
		r.Cells = append(r.Cells, cell{Text: text, Of: h.Text, Head: i == 0, Left: h.Left})
	}
	t.Rows = append(t.Rows, r)
	return &t.Rows[len(t.Rows)-1]
}

// A picture is a drawing with what it says in words and in figures.
type picture struct {
	Picture any // template.HTML
	Caption string
	Figures *table
}
