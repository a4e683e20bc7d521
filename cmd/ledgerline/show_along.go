package main

import (
	"fmt"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
)

// showAlong prints the records along the tracks of a ledger that a path leads to.
func showAlong(s *streams, path string, l *ledger.Ledger) error {
	records, err := alongOf(path, l)
	if err != nil {
		return &failure{code: exitUsage, err: err}
	}
	for i := range l.Tracks {
		t := &l.Tracks[i]
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		fmt.Fprintln(s.out, ledger.Label(t.Name, t.Version()))
		if records[i] == nil {
			fmt.Fprintln(s.out, "no record along the track; a render makes it")
			continue
		}
		if err := records[i].Print(s.out); err != nil {
			return err
		}
	}
	return nil
}

// alongOf are the records along the tracks of a ledger that a path leads to, in its order; nil where one is
// missing.
func alongOf(path string, l *ledger.Ledger) ([]*along.Record, error) {
	if path == "-" {
		return nil, fmt.Errorf("the record along the tracks is a file beside the ledger; want the ledger's name, " +
			"not standard input")
	}
	at, err := ledgerAt(path)
	if err != nil {
		return nil, err
	}
	store, err := along.Read(along.Beside(at))
	if err != nil {
		return nil, err
	}
	records := make([]*along.Record, len(l.Tracks))
	for i := range l.Tracks {
		if records[i], err = store.Record(l.Tracks[i].Along); err != nil {
			return nil, fmt.Errorf("%s: %s: %w", along.Beside(at),
				ledger.Label(l.Tracks[i].Name, l.Tracks[i].Version()), err)
		}
	}
	return records, nil
}
