package main

import (
	"fmt"
	"io"

	"ledgerline/pipeline/ledger"
)

// mostTables is how many renders get a table each; of more than that a row each
// says enough.
const mostTables = 6

// printer prints for people who read w.
func printer(w io.Writer) ledger.Printer {
	_, columns, _ := terminal(w)
	return ledger.Printer{Out: w, Colour: coloured(w), Columns: columns}
}

// tables prints the entries of a ledger, each of which is of a track that was
// chosen: a row for each where they are many and not asked for in full, else a
// table for each of those that are to have one.
func tables(p ledger.Printer, entries []*ledger.Track, full bool, tabled func(i int) bool) error {
	if len(entries) > mostTables && !full {
		if err := p.Rows(entries); err != nil {
			return err
		}
		return blank(p)
	}
	variants := ledger.Ledger{}
	several := false
	for i, t := range entries {
		variants.Tracks = append(variants.Tracks, *t)
		several = several || t.Variant != ""
		if !full && !tabled(i) {
			continue
		}
		if err := p.Track(t); err != nil {
			return err
		}
		if err := blank(p); err != nil {
			return err
		}
	}
	if !several {
		return nil
	}
	variants.Sum()
	if err := p.Variants(&variants); err != nil {
		return err
	}
	return blank(p)
}

func blank(p ledger.Printer) error {
	_, err := fmt.Fprintln(p.Out)
	return err
}
