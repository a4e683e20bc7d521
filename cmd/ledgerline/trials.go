package main

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/trial"
)

// trialsFor are the records of listening trials beside the release that a path leads to, and notes on what could not be read. A
// ledger that is named itself has them in its folder or the one above.
func trialsFor(path string) ([]trial.Result, []string) {
	if path == "-" {
		return nil, nil
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, nil
	}
	folder := path
	if isFile(path) {
		folder = filepath.Dir(path)
	}
	all, notes := trial.Read(folder)
	if len(all)+len(notes) == 0 && !strings.EqualFold(filepath.Ext(path), ".toml") {
		return trial.Read(filepath.Dir(folder))
	}
	return all, notes
}

// showTrials prints the records of a ledger's tracks, if there are any.
func showTrials(w io.Writer, all []trial.Result, l *ledger.Ledger) error {
	var lines []string
	nothing := false
	for _, name := range slices.Compact(tracksOf(l)) {
		for i := range all {
			r := &all[i]
			if r.Track != name {
				continue
			}
			line := "  " + name + ", " + r.String()
			if changed := r.Changed(l); len(changed) > 0 {
				line += "; changed since: " + strings.Join(changed, ", ")
			}
			lines = append(lines, line)
			nothing = nothing || r.FoundNothing()
		}
	}
	if lines == nil {
		return nil
	}
	if nothing {
		lines = append(lines, "  "+trial.NotEqual)
	}
	_, err := fmt.Fprintf(w, "listening trials\n%s\n\n", strings.Join(lines, "\n"))
	return err
}

// tracksOf are the names of a ledger's tracks, in its order.
func tracksOf(l *ledger.Ledger) (all []string) {
	for i := range l.Tracks {
		all = append(all, l.Tracks[i].Name)
	}
	return all
}

// outdated are notes on records whose files are not those of a ledger any more.
func outdated(all []trial.Result, l *ledger.Ledger) (notes []string) {
	for i := range all {
		if changed := all[i].Changed(l); len(changed) > 0 {
			notes = append(notes, fmt.Sprintf("%s (%s) was of other files: %s changed since", filepath.ToSlash(filepath.Join(trial.Folder, all[i].File)), all[i].Protocol.Kind, strings.Join(changed, ", ")))
		}
	}
	return notes
}
