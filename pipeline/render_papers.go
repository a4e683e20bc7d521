package pipeline

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strings"

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

	Err error `json:"-"` // it cannot be written; of a Forecast: a *ForeignError

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
				all = append(all, Paper{File: fresh.Relative(e.release.Output.Folder, path), Delivery: r.Delivery,
					path: path, name: name})
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

// writePapers writes the papers of the deliveries that ask for them, as the ledger has them, unless they are
// there. Notes tell of those that were written though no file of their delivery was rendered, or that were
// altered.
func (e *engine) writePapers(l *ledger.Ledger) (notes []string, failed []Paper) {
	alone := map[string][]Paper{}
	for _, p := range e.papers() {
		text := l.Paper(p.name, p.Delivery)
		why := e.whyPaper(p, text, l)
		if why == "" {
			continue
		}
		if err := e.writePaper(p, text); err != nil {
			p.Err = fmt.Errorf("%s of delivery %q: %w", p.name, p.Delivery, err)
			failed = append(failed, p)
			continue
		}
		if p.Why = why; why == paperAltered || why == paperForeign || !e.rendered(p.Delivery) {
			alone[p.Delivery+why] = append(alone[p.Delivery+why], p)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(alone)) {
		notes = append(notes, paperNote(alone[key]))
	}
	return notes, failed
}

// paperNote tells of papers of one delivery that are written for one reason.
func paperNote(papers []Paper) string {
	var names []string
	for _, p := range papers {
		names = append(names, p.name)
	}
	if papers[0].Why == paperForeign {
		return fmt.Sprintf("delivery %q: replaces %s, which this release did not write", papers[0].Delivery,
			strings.Join(names, ", "))
	}
	are, were := "is", "was"
	if len(names) > 1 {
		are, were = "are", "were"
	}
	if papers[0].Why == paperMissing { // after parts, none was written before
		return fmt.Sprintf("delivery %q: %s %s missing and %s written", papers[0].Delivery,
			strings.Join(names, ", "), were, are)
	}
	return fmt.Sprintf("delivery %q: %s %s written again: %s", papers[0].Delivery, strings.Join(names, ", "),
		are, papers[0].Why)
}

// rendered says whether a file of a delivery was rendered in this run.
func (e *engine) rendered(delivery string) bool {
	return slices.ContainsFunc(e.jobs, func(j job) bool {
		return j.result.Delivery == delivery && j.result.State == Rendered
	})
}

// Why a paper is written that is not what this release wrote there, or is not there: nobody is to lose a text
// without a word.
const (
	paperAltered = "altered"
	paperForeign = "not of this release"
	paperMissing = "missing"
)

// whyPaper says why a paper is to be written that is to say what a ledger has; empty: it does.
func (e *engine) whyPaper(p Paper, text string, l *ledger.Ledger) string {
	old, err := whole.ReadFile(p.path)
	switch {
	case err == nil && string(old) == text, errors.Is(err, fs.ErrNotExist) && text == "":
		return ""
	case errors.Is(err, fs.ErrNotExist):
		return paperMissing
	case err != nil:
		return "it cannot be read"
	case e.past.Ours.Has(p.path) && !e.past.Ours.Knows(p.path, hashOf(old)):
		return paperAltered
	case !e.past.Ours.Has(p.path) && !e.saidBefore(p, old):
		return paperForeign
	}
	if changes := ledger.ChangesOfHead(e.past.Ledger, l); len(changes) > 0 {
		return strings.Join(changes, ", ")
	}
	return "what is recorded changed"
}

func hashOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

func (e *engine) writePaper(p Paper, text string) error {
	if err := e.paperInTheWay(p); err != nil {
		delete(e.past.Ours, p.path) // nor is it ours in the next run, which has a ledger
		return err
	}
	if err := e.journal.Paths([]string{p.File}); err != nil {
		return err
	}
	if err := whole.Write(p.path, []byte(text)); err != nil {
		return err
	}
	e.written.Store(p.path, hashOf([]byte(text)))
	return nil
}

// paperInTheWay is inTheWay of a paper. Without a ledger its path does not make it ours, as a text under such
// a name may be anyone's: its content does. What the ledger would have said is ours without the state file.
func (e *engine) paperInTheWay(p Paper) error {
	err := e.inTheWay(p.path)
	var foreign *ForeignError
	if e.options.Replace || err != nil && (!errors.As(err, &foreign) || foreign.Kept != "") {
		return err
	}
	old, unread := whole.ReadFile(p.path)
	known := e.past.Ours[p.path]
	switch {
	case errors.Is(unread, fs.ErrNotExist), known.Begun:
		return err
	case unread == nil && e.saidBefore(p, old):
		return nil
	case e.past.Ledger == nil && (unread != nil || !slices.Contains(known.Hashes, hashOf(old))):
		return &ForeignError{File: fresh.Relative(e.release.Folder, p.path)}
	}
	return err
}

// saidBefore says whether a text is what a paper was by the old ledger.
func (e *engine) saidBefore(p Paper, text []byte) bool {
	l := e.past.Ledger
	return l != nil && string(text) == l.Paper(p.name, p.Delivery)
}

// forecastPapers tells of every paper whether it is up to date, where the renders are as results has them.
func (e *engine) forecastPapers(results []Result) []Paper {
	l, _ := e.newLedger()
	all := e.papers()
	for i := range all {
		p := &all[i]
		p.Why = e.whyPaper(*p, l.Paper(p.name, p.Delivery), l)
		stale := func(r Result) bool { return r.Delivery == p.Delivery && r.State == Stale }
		if slices.ContainsFunc(results, stale) {
			p.Why = "files of the delivery are stale"
		}
		if p.Stale = p.Why != ""; p.Stale {
			p.Err = e.paperInTheWay(*p)
		}
	}
	return all
}
