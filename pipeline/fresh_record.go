package pipeline

import (
	"os"
	"path/filepath"
	"slices"

	"ledgerline/pipeline/ledger"
)

// A record has the files that this release is known to have written, by their
// absolute paths: those of the ledger, of the state file and of a journal. What
// is at any other path is somebody else's.
type record map[string]knownFile

// knownFile is what a record knows of a file.
type knownFile struct {
	hashes []string // of what was written there, in hexadecimal; none: not known
	begun  bool     // a run that was killed may have written something else there
}

// newRecord is what is known in an output folder when a run begins.
func newRecord(folder string, old *oldLedger, made map[string][]string) record {
	r := record{}
	for path, hashes := range made {
		r.add(path, hashes...)
	}
	if old.Ledger != nil {
		for i := range old.Tracks {
			r.addTrack(folder, &old.Tracks[i])
		}
	}
	for _, l := range old.journal.lines {
		for _, name := range l.Paths {
			path := absolute(folder, name)
			k := r[path]
			k.begun = true
			r[path] = k
		}
		if l.Track != nil {
			r.addTrack(folder, l.Track)
		}
	}
	return r
}

func (r record) add(path string, hashes ...string) {
	k := r[path]
	for _, sha := range hashes {
		if !slices.Contains(k.hashes, sha) {
			k.hashes = append(slices.Clone(k.hashes), sha)
		}
	}
	r[path] = k
}

// addTrack adds the files of a ledger's entry.
func (r record) addTrack(folder string, t *ledger.Track) {
	r.add(absolute(folder, t.Output.File), t.Output.SHA256)
	for _, x := range []*ledger.Extra{t.Removed, t.Matched} {
		if x != nil {
			r.add(absolute(folder, x.File), x.SHA256)
		}
	}
}

func (r record) has(path string) bool {
	_, ok := r[path]
	return ok
}

func (r record) knows(path, sha string) bool { return slices.Contains(r[path].hashes, sha) }

// made is what the next run shall know of the files of this release: all that
// are there, also those that the ledger has no entry of any more.
func (e *engine) made() map[string][]string {
	all := map[string][]string{}
	for path, k := range e.ours {
		all[path] = k.hashes
	}
	e.written.Range(func(path, sha any) bool {
		all[path.(string)] = []string{sha.(string)}
		return true
	})
	for path := range all {
		if _, err := os.Lstat(path); err != nil || !e.inside(path) {
			delete(all, path)
		}
	}
	return all
}

// inside says whether a path is in the output folder.
func (e *engine) inside(path string) bool {
	rel, err := filepath.Rel(e.release.Output.Folder, path)
	return err == nil && filepath.IsLocal(rel)
}
