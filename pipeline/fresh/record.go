package fresh

import (
	"iter"
	"os"
	"path/filepath"
	"slices"

	"ledgerline/pipeline/ledger"
)

// A Record has the files that this release is known to have written, by their
// absolute paths: those of the ledger, of the state file and of a journal. What
// is at any other path is somebody else's.
type Record map[string]Known

// Known is what a record knows of a file.
type Known struct {
	Hashes []string // of what was written there, in hexadecimal; none: not known
	Begun  bool     // a run that was killed may have written something else there
}

// newRecord is what is known in an output folder when a run begins.
func newRecord(folder string, old *ledger.Ledger, lines iter.Seq[*journalLine],
	made map[string][]string) Record {
	r := Record{}
	for path, hashes := range made {
		r.add(path, hashes...)
	}
	if old != nil {
		for i := range old.Tracks {
			r.addTrack(folder, &old.Tracks[i])
		}
	}
	for l := range lines {
		for _, name := range l.Paths {
			path := absolute(folder, name)
			k := r[path]
			k.Begun = true
			r[path] = k
		}
		if l.Track != nil {
			r.addTrack(folder, l.Track)
		}
	}
	return r
}

func (r Record) add(path string, hashes ...string) {
	k := r[path]
	for _, sha := range hashes {
		if !slices.Contains(k.Hashes, sha) {
			k.Hashes = append(slices.Clone(k.Hashes), sha)
		}
	}
	r[path] = k
}

// addTrack adds the files of a ledger's entry.
func (r Record) addTrack(folder string, t *ledger.Track) {
	r.add(absolute(folder, t.Output.File), t.Output.SHA256)
	for _, x := range []*ledger.Extra{t.Removed, t.Matched} {
		if x != nil {
			r.add(absolute(folder, x.File), x.SHA256)
		}
	}
}

// Has says whether the record has a path.
func (r Record) Has(path string) bool {
	_, ok := r[path]
	return ok
}

// Knows says whether a file of that hash was written at a path.
func (r Record) Knows(path, sha string) bool { return slices.Contains(r[path].Hashes, sha) }

// Made is what the next run shall know of the files of this release: all that are in
// the folder, also those that the ledger has no entry of any more. Written has the
// hashes of what this run has put in place.
func (r Record) Made(folder string, written map[string]string) map[string][]string {
	all := map[string][]string{}
	for path, k := range r {
		all[path] = k.Hashes
	}
	for path, sha := range written {
		all[path] = []string{sha}
	}
	for path := range all {
		if _, err := os.Lstat(path); err != nil || !Inside(folder, path) {
			delete(all, path)
		}
	}
	return all
}

// Inside says whether a path is in a folder.
func Inside(folder, path string) bool {
	rel, err := filepath.Rel(folder, path)
	return err == nil && filepath.IsLocal(rel)
}
