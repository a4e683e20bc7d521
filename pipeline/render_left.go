package pipeline

import (
	"fmt"
	"os"

	"ledgerline/pipeline/ledger"
)

// leftovers are notes on files that an earlier render wrote beside the outputs
// and this one did not, so that they may belong to masters that are gone. They
// come once: from the run that takes the files out of the ledger, and from each
// that renders an output anew.
func (e *engine) leftovers() []string {
	removed := e.leftIn(takenFolder, removedOf)
	matched := e.leftIn(matchedFolder, matchedOf)
	var notes []string
	if removed != "" {
		notes = append(notes, removed+": what the chain took away is not written any more")
	}
	if matched != "" {
		notes = append(notes, matched+": matched copies are not written any more")
	}
	return notes
}

// leftIn says which files of one kind are left over; empty: none.
func (e *engine) leftIn(folder string, of func(*ledger.Track) *ledger.Extra) string {
	first, n := "", 0
	for i, t := range e.entries {
		r, state := &e.release.Renders[i], e.results[i].State
		old := e.old.entry(r.key())
		if t == nil || of(t) != nil || state == Failed || state == Interrupted {
			continue
		}
		if state != Rendered && (old == nil || of(old) == nil) {
			continue
		}
		path := r.beside(folder)
		if _, err := os.Stat(path); err != nil {
			continue
		}
		if n++; n == 1 {
			first = written(path, e.release.Folder, false)
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%s%s may be left from an earlier render", first, andMore(n-1))
}
