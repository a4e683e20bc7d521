package pipeline

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerline/pipeline/ledger"
)

// LedgerName is the ledger's file name in the output folder.
const LedgerName = "ledger.json"

// oldLedger is the ledger that a run finds.
type oldLedger struct {
	*ledger.Ledger // nil: there is none
	entries        map[renderKey]*ledger.Track
}

func (o *oldLedger) entry(k renderKey) *ledger.Track { return o.entries[k] }

// readOld reads the ledger in an output folder. One that cannot be read is as
// good as none if it is to be replaced.
func readOld(folder string, replace bool) (*oldLedger, error) {
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
// is what the file says.
func (e *engine) writeLedger() (*ledger.Ledger, error) {
	r := e.release
	l := ledger.New(e.options.Tool, r.Title, r.CeilingDBFS, r.Hash)
	for _, t := range e.entries {
		if t != nil {
			l.Tracks = append(l.Tracks, *t)
		}
	}
	l.Sum()
	path := filepath.Join(r.Output.Folder, LedgerName)
	if e.old.says(l, path) {
		return l, nil
	}
	return l, ledger.Write(path, l)
}

// says tells whether the file already says the same, to the byte.
func (o *oldLedger) says(l *ledger.Ledger, path string) bool {
	if o.Ledger == nil || len(o.Tracks) != len(l.Tracks) {
		return false
	}
	var now bytes.Buffer
	if l.Encode(&now) != nil {
		return false
	}
	then, err := os.ReadFile(path)
	return err == nil && bytes.Equal(then, now.Bytes())
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
			paths = append(paths, r.beside(takenFolder))
		}
		if t.Matched != nil {
			paths = append(paths, r.beside(matchedFolder))
		}
	}
	return paths
}
