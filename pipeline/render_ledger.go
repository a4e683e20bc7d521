package pipeline

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"ledgerline/pipeline/ledger"
)

// LedgerName is the ledger's file name in the output folder.
const LedgerName = "ledger.json"

// oldLedger is the ledger that a run finds.
type oldLedger struct {
	*ledger.Ledger                             // nil: there is none
	entries        map[renderKey]*ledger.Track // those of the journal over those of the ledger
	journal        found
	notes          []string // on what could not be read
}

func (o *oldLedger) entry(k renderKey) *ledger.Track { return o.entries[k] }

// readOld reads the ledger in an output folder, and the journal of a run that was
// killed over it. A ledger that cannot be read is as good as none if it is to be
// replaced.
func readOld(folder string, replace bool) (*oldLedger, error) {
	o, err := readOldLedger(folder, replace)
	if err != nil {
		return nil, err
	}
	return o, o.readJournal(folder)
}

func readOldLedger(folder string, replace bool) (*oldLedger, error) {
	path := filepath.Join(folder, LedgerName)
	o := &oldLedger{entries: map[renderKey]*ledger.Track{}}
	l, err := ledger.Read(path)
	switch {
	case errors.Is(err, fs.ErrNotExist), err != nil && replace:
		return o, nil
	case err != nil:
		return nil, fmt.Errorf("%w (a forced render replaces it)", err)
	}
	o.Ledger = l
	for i := range l.Tracks {
		t := &l.Tracks[i]
		o.entries[renderKey{t.Name, t.Variant}] = t
	}
	return o, nil
}

// writeLedger makes the ledger of what is there now, and writes it unless that
// is what the old one says.
func (e *engine) writeLedger() (*ledger.Ledger, error) {
	r := e.release
	l := ledger.New(e.options.Tool, r.Title, r.CeilingDBFS, r.Hash)
	if e.old.stands(l, e.entries) {
		return e.old.Ledger, nil
	}
	for _, t := range e.entries {
		if t != nil {
			l.Tracks = append(l.Tracks, *t)
		}
	}
	l.Sum()
	return l, ledger.Write(filepath.Join(r.Output.Folder, LedgerName), l)
}

// stands tells whether the old ledger says what one with this head and these
// entries would: its own entries, all of them, and no others.
func (o *oldLedger) stands(l *ledger.Ledger, entries []*ledger.Track) bool {
	if o.Ledger == nil || len(o.journal.lines) > 0 {
		return false
	}
	for _, t := range entries {
		if t == nil || o.entries[renderKey{t.Name, t.Variant}] != t {
			return false
		}
	}
	return len(o.Tracks) == len(entries) && o.Schema == l.Schema && o.Tool == l.Tool && o.Title == l.Title &&
		o.CeilingDBFS == l.CeilingDBFS && o.ReleaseSHA256 == l.ReleaseSHA256
}

// paths are the files whose hashes are worth keeping for the next run.
func (e *engine) paths() []string {
	var paths []string
	for i, t := range e.entries {
		if t == nil {
			continue
		}
		r := &e.release.Renders[i]
		paths = append(paths, r.Source, r.Output)
		if t.Removed != nil {
			paths = append(paths, r.Removed())
		}
		if t.Matched != nil {
			paths = append(paths, r.Matched())
		}
	}
	return paths
}
