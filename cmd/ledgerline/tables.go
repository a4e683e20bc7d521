package main

import (
	"fmt"
	"io"
	"slices"

	"ledgerline/pipeline/ledger"
)

// mostTables is how many renders get a table each; more than that get a row each.
const mostTables = 6

// printer prints for people who read w.
func printer(w io.Writer) ledger.Printer {
	_, columns, _ := terminal(w)
	return ledger.Printer{Out: w, Colour: coloured(w), Columns: columns}
}

// tables prints the chosen entries of a ledger: a row each if there are many and full is
// not asked for, otherwise a table for each that is to have one, their tracks in an order of names. A delivery, which begins as
// its master does, has only its row among the versions, unless it was chosen without masters.
func tables(p ledger.Printer, order []string, entries []*ledger.Track, full bool, tabled func(i int) bool) error {
	own := slices.DeleteFunc(slices.Clone(entries), func(t *ledger.Track) bool { return t.Delivery != "" })
	if len(own) == 0 {
		own = entries
	}
	if len(own) > mostTables && !full {
		var rows []ledger.Row
		for _, t := range entries {
			rows = append(rows, t.Row())
		}
		return rowTable(p, rows)
	}
	variants := ledger.Ledger{Order: order}
	several := false
	for i, t := range entries {
		variants.Tracks = append(variants.Tracks, *t)
		several = several || t.Version() != ""
		if !full && (!tabled(i) || !slices.Contains(own, t)) {
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

// coders prints what came back of deliveries from their coders, if anything did.
func coders(p ledger.Printer, entries []*ledger.Track, full bool) error {
	if !slices.ContainsFunc(entries, func(t *ledger.Track) bool { return len(t.Coders) > 0 }) {
		return nil
	}
	if err := p.Coders(entries, full); err != nil {
		return err
	}
	return blank(p)
}

// rowTable prints a table of rows.
func rowTable(p ledger.Printer, rows []ledger.Row) error {
	if err := p.Rows(rows); err != nil {
		return err
	}
	return blank(p)
}

func blank(p ledger.Printer) error {
	_, err := fmt.Fprintln(p.Out)
	return err
}
