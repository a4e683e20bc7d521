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

// trialsFor are the records of listening trials beside the release that a path leads to, and notes on what
// could not be read. A ledger that is named itself has them in its folder or the one above.
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

// outdated are the records whose files are not those of a ledger any more.
func outdated(all []trial.Result, l *ledger.Ledger) (others []ledger.OtherFiles) {
	for i := range all {
		if changed := all[i].Changed(l); len(changed) > 0 {
			others = append(others, ledger.OtherFiles{
				Track: all[i].Track, File: trial.Folder + "/" + all[i].File, Kind: string(all[i].Protocol.Kind),
				Changed: changed,
			})
		}
	}
	return others
}

// trialsOf are the records beside two ledgers: those of the newer one, and what only the older one has.
func trialsOf(old, new string) ([]trial.Result, []string) {
	all, notes := trialsFor(new)
	more, _ := trialsFor(old)
	for _, r := range more {
		known := func(k trial.Result) bool { return k.File == r.File && k.Began.Equal(r.Began) }
		if !slices.ContainsFunc(all, known) {
			all = append(all, r)
		}
	}
	return all, notes
}
