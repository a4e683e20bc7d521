package pipeline

import (
	"fmt"
	"path/filepath"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
)

// fits fails if the ledger of a release would be too long to be read back, before anything is rendered.
func fits(r *release.Release) error {
	return ledger.CheckSize(func(yield func([]stages.Use) bool) {
		for i := range r.Renders {
			if !yield(r.Renders[i].Chain) {
				return
			}
		}
	})
}

// writeLedger makes the ledger of what is there now, and writes it unless that
// is what the old one says. There is a ledger even if it could not be written.
func (e *engine) writeLedger() (*ledger.Ledger, error) {
	l, entries := e.newLedger()
	unwritten := e.writeAlong()
	if unwritten == nil && e.past.Says(l, entries) {
		return e.past.Ledger, nil
	}
	l.Sum()
	if unwritten != nil {
		return l, unwritten
	}
	path := filepath.Join(e.release.Output.Folder, ledger.FileName)
	sha, err := ledger.Write(path, l)
	if err == nil {
		e.past.Seen.Wrote(path, sha)
	}
	return l, err
}

// newLedger is a ledger of what is there now, without totals, and the entry of each render; nil: it has none.
func (e *engine) newLedger() (*ledger.Ledger, []*ledger.Track) {
	l := e.head()
	entries := make([]*ledger.Track, len(e.jobs))
	for i := range e.jobs {
		if entries[i] = e.jobs[i].entry; entries[i] != nil {
			l.Tracks = append(l.Tracks, *entries[i])
		}
	}
	return l, entries
}

// takeLater takes the entries of what another run has rendered meanwhile, where this one has not rendered the
// same; the note says so.
func (e *engine) takeLater() (note string, err error) {
	later, err := e.past.Later()
	if err != nil {
		return "", err
	}
	of := make(map[renderKey]*ledger.Track, len(later))
	for _, t := range later {
		of[renderKey{t.Name, t.Variant, t.Delivery}] = t
	}
	taken := 0
	for i := range e.jobs {
		if t := of[keyOf(&e.release.Renders[i])]; t != nil && e.jobs[i].result.State != Rendered {
			e.jobs[i].entry = t
			taken++
		}
	}
	if taken == 0 {
		return "", nil
	}
	return fmt.Sprintf("another run wrote the ledger meanwhile; its entries are kept (%d): the lock does not "+
		"keep runs apart here", taken), nil
}

// writeAlong writes the records along the tracks that the ledger is to have.
func (e *engine) writeAlong() error {
	e.along.Range(func(_, line any) bool {
		e.past.Along.Add(line.([]byte))
		return true
	})
	path := e.alongPath()
	if err := e.past.Along.Write(path, e.alongShas()); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

func (e *engine) alongPath() string {
	return along.Beside(filepath.Join(e.release.Output.Folder, ledger.FileName))
}

// alongShas are the hashes of the records that the file beside the ledger is to have.
func (e *engine) alongShas() (shas []string) {
	for i := range e.jobs {
		if t := e.jobs[i].entry; t != nil && t.Along != "" {
			shas = append(shas, t.Along)
		}
	}
	return shas
}

// paths are the files whose hashes are worth keeping for the next run.
func (e *engine) paths() []string {
	in := filepath.Join(e.release.Output.Folder, ledger.FileName)
	paths := []string{in, along.Beside(in)}
	for i := range e.jobs {
		r, t := &e.release.Renders[i], e.jobs[i].entry
		if t == nil {
			continue
		}
		paths = append(paths, r.Source, r.Output)
		if t.Removed != nil {
			paths = append(paths, r.Removed())
		}
		if t.Matched != nil {
			paths = append(paths, r.Matched())
		}
	}
	for _, f := range e.left() {
		paths = append(paths, f.path)
	}
	return paths
}
