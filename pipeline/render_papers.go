package pipeline

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// Paper is a text that goes out with the files of a delivery.
type Paper struct {
	File     string `json:"file"` // relative to the output folder, with slashes
	Delivery string `json:"delivery"`
	Stale    bool   `json:"stale"`         // a render would write it
	Why      string `json:"why,omitempty"` // it is stale

	path string
	name string // of the file
}

// papers are those that the release asks for, by their paths.
func (e *engine) papers() (all []Paper) {
	seen := map[string]bool{}
	for i := range e.release.Renders {
		r := &e.release.Renders[i]
		for _, name := range papersOf(r) {
			path := filepath.Join(filepath.Dir(r.Output), name)
			if !seen[path] {
				seen[path] = true
				all = append(all, Paper{File: fresh.Relative(e.release.Output.Folder, path), Delivery: r.Delivery, path: path, name: name})
			}
		}
	}
	slices.SortFunc(all, func(a, b Paper) int { return cmp.Compare(a.path, b.path) })
	return all
}

// papersOf are the names of the papers that the delivery of a render has.
func papersOf(r *release.Render) (names []string) {
	if r.Sums {
		names = append(names, ledger.SumsName)
	}
	if r.Sheet {
		names = append(names, ledger.SheetName, ledger.SheetCSVName)
	}
	if r.Cue {
		names = append(names, ledger.CueName)
	}
	return names
}

// writePapers writes the papers of the deliveries that ask for them, as the ledger has them, unless they are there. They
// are those that were written though no file of their delivery was rendered.
func (e *engine) writePapers(l *ledger.Ledger) (alone []Paper, failed error) {
	for _, p := range e.papers() {
		text := l.Paper(p.name, p.Delivery)
		if whyPaper(p.path, text) == "" {
			continue
		}
		if err := e.writePaper(p.path, text); err != nil {
			failed = errors.Join(failed, fmt.Errorf("%s of delivery %q: %w", p.name, p.Delivery, err))
			continue
		}
		if !e.rendered(p.Delivery) {
			alone = append(alone, p)
		}
	}
	return alone, failed
}

// rendered says whether a file of a delivery was rendered in this run.
func (e *engine) rendered(delivery string) bool {
	return slices.ContainsFunc(e.jobs, func(j job) bool { return j.result.Delivery == delivery && j.result.State == Rendered })
}

// whyPaper says why a paper is to be written; empty: it says what it is to say.
func whyPaper(path, text string) string {
	old, err := os.ReadFile(path)
	switch {
	case err == nil && string(old) == text, errors.Is(err, fs.ErrNotExist) && text == "":
		return ""
	case errors.Is(err, fs.ErrNotExist):
		return "it is missing"
	}
	return "it does not say what the ledger is to say"
}

func (e *engine) writePaper(path, text string) error {
	if err := e.inTheWay(path); err != nil {
		return err
	}
	if err := e.journal.Paths([]string{fresh.Relative(e.release.Output.Folder, path)}); err != nil {
		return err
	}
	if err := whole.Write(path, []byte(text)); err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(text))
	e.written.Store(path, hex.EncodeToString(sum[:]))
	return nil
}

// forecastPapers tells of every paper whether it is up to date, where the renders are as results has them.
func (e *engine) forecastPapers(results []Result) []Paper {
	l := e.newLedger()
	all := e.papers()
	for i := range all {
		p := &all[i]
		p.Why = whyPaper(p.path, l.Paper(p.name, p.Delivery))
		if slices.ContainsFunc(results, func(r Result) bool { return r.Delivery == p.Delivery && r.State == Stale }) {
			p.Why = "files of the delivery are stale"
		}
		p.Stale = p.Why != ""
	}
	return all
}

// paperNote is what a run tells of papers that it wrote though no file of their delivery was rendered.
func paperNote(alone []Paper) (notes []string) {
	for _, p := range alone {
		notes = append(notes, fmt.Sprintf("%s is written again, and no file of delivery %q was rendered", p.File, p.Delivery))
	}
	return notes
}
