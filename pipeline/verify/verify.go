// Package verify says whether the files that a ledger records are still what it records. It reads every one
// of them whole and trusts no time and no size, and changes nothing.
package verify

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
)

// State is what a file is, compared with the record.
type State string

// The states of a File.
const (
	Present State = "present" // as it is recorded, to the byte
	Altered State = "altered" // something else is there, a folder perhaps
	Missing State = "missing" // nothing is there
	Foreign State = "foreign" // audio beside recorded files that is not; a text that is not ours
)

// File is one file.
type File struct {
	File  string `json:"file"` // relative to the ledger, a mix to the release file, with slashes
	What  string `json:"what"` // master, delivery, removed, matched, mix, along, sums, sheet; empty: foreign audio
	State State  `json:"state"`
	Why   string `json:"why,omitempty"` // what there is to say besides
	Err   error  `json:"-"`             // it cannot be read: then it has no state
}

// Files are all files that a ledger in a folder records, and audio files beside them that it does not record,
// in the order of their names; mixes are among them if the folder of the release file is given. An error
// means that ctx was cancelled.
func Files(ctx context.Context, folder string, l *ledger.Ledger, release string) ([]File, error) {
	w := work{ctx: ctx, folder: folder, known: map[string]bool{}}
	w.made, w.knowsMade = fresh.Made(folder)
	for i := range l.Tracks {
		w.track(&l.Tracks[i], release)
	}
	w.along(l)
	w.papers(l)
	w.foreign(l)
	slices.SortStableFunc(w.all, func(a, b File) int { return strings.Compare(a.File, b.File) })
	return w.all, ctx.Err()
}

type work struct {
	ctx    context.Context
	folder string
	all    []File
	known  map[string]bool // paths

	made      map[string]bool // what the release wrote, relative to the folder, with slashes
	knowsMade bool            // that is on record
}

func (w *work) track(t *ledger.Track, release string) {
	what := "master"
	if t.Delivery != "" {
		what = "delivery"
	}
	w.file(w.folder, t.Output.File, what, t.Output.SHA256)
	if t.Removed != nil {
		w.file(w.folder, t.Removed.File, "removed", t.Removed.SHA256)
	}
	if t.Matched != nil {
		w.file(w.folder, t.Matched.File, "matched", t.Matched.SHA256)
	}
	if release != "" {
		w.file(release, t.Source.File, "mix", t.Source.SHA256)
	}
}

// file adds a recorded file, once.
func (w *work) file(folder, name, what, sha string) {
	path := at(folder, name)
	if w.known[path] {
		return
	}
	w.known[path] = true
	f := File{File: name, What: what}
	if f.Why = noFile(path); f.Why != "" {
		f.State = Altered
		w.all = append(w.all, f)
		return
	}
	is, err := w.hash(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.State = Missing
	case err != nil:
		f.Err = fmt.Errorf("%s: %w", name, err)
	case is == sha:
		f.State = Present
	default:
		f.State = Altered
	}
	w.all = append(w.all, f)
}

// noFile says what is at a path instead of a file; empty: a file, or nothing.
func noFile(path string) string {
	info, err := os.Stat(path)
	switch {
	case err != nil || info.Mode().IsRegular():
		return ""
	case info.IsDir():
		return "it is a folder, and a file belongs there"
	}
	return "it is " + whole.Oddity(info.Mode()) + ", and a file belongs there"
}

// at is the path of a recorded name.
func at(folder, name string) string {
	path := filepath.FromSlash(name)
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(folder, path)
}

// along adds the record along the tracks, in the file beside the ledger: it has to have a line of each entry
// that says so.
func (w *work) along(l *ledger.Ledger) {
	path := along.Beside(filepath.Join(w.folder, ledger.FileName))
	asked, has := false, true
	var lines along.Store
	var err error
	other := noFile(path)
	if other == "" {
		lines, err = along.Read(path)
	}
	for i := range l.Tracks {
		if sha := l.Tracks[i].Along; sha != "" {
			asked, has = true, has && lines.Has(sha)
		}
	}
	if !asked {
		return
	}
	f := File{File: filepath.Base(path), What: "along", State: Present, Why: other}
	switch {
	case other != "":
		f.State = Altered
	case err != nil:
		f.Err = fmt.Errorf("%s: %w", f.File, err)
	case has:
	default:
		f.State = Altered
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			f.State = Missing
		}
	}
	w.all = append(w.all, f)
}

// papers adds the papers of deliveries: each has to say what the ledger says. One that is not recorded is
// looked for all the same.
func (w *work) papers(l *ledger.Ledger) {
	done := map[string]bool{}
	for i := range l.Tracks {
		t := &l.Tracks[i]
		folder := filepath.Dir(filepath.FromSlash(t.Output.File))
		if t.Delivery == "" || done[folder] {
			continue
		}
		done[folder] = true
		for _, paper := range ledger.Papers {
			name := filepath.ToSlash(filepath.Join(folder, paper))
			w.paper(l, name, func() string { return l.Paper(paper, t.Delivery) })
		}
	}
}

// paper adds a paper, which has to be there if it is recorded.
func (w *work) paper(l *ledger.Ledger, name string, text func() string) {
	recorded := slices.Contains(l.Papers, name)
	f := File{File: name, What: "sheet", State: Present}
	if path.Base(name) == ledger.SumsName {
		f.What = "sums"
	}
	there := at(w.folder, name)
	if f.Why = noFile(there); f.Why != "" {
		if f.State = Altered; recorded {
			w.all = append(w.all, f)
		}
		return
	}
	switch is, err := whole.ReadFile(there); {
	case err != nil && !recorded:
		return
	case errors.Is(err, fs.ErrNotExist):
		f.State = Missing
	case err != nil:
		f.State, f.Err = "", fmt.Errorf("%s: %w", name, err)
	case string(is) != text():
		f.State = Altered
		if !w.ours(l, name) {
			f.State, f.Why = Foreign, "this release did not write it"
			if recorded {
				f.Why += "; move it away, or replace it with ledgerline render --replace"
			}
		}
	}
	w.all = append(w.all, f)
}

// ours says whether the release wrote a paper that does not say what the ledger says. Where no state file is
// there to tell, the ledger's list does, which earlier versions did not make.
func (w *work) ours(l *ledger.Ledger, name string) bool {
	if w.knowsMade {
		return w.made[name]
	}
	return len(l.Papers) == 0 || slices.Contains(l.Papers, name)
}

// foreign adds the audio files in the folders of recorded ones that are not recorded.
func (w *work) foreign(l *ledger.Ledger) {
	folders := map[string]bool{}
	add := func(name string) { folders[filepath.Dir(at(w.folder, name))] = true }
	for i := range l.Tracks {
		t := &l.Tracks[i]
		add(t.Output.File)
		for _, x := range []*ledger.Extra{t.Removed, t.Matched} {
			if x != nil {
				add(x.File)
			}
		}
	}
	for folder := range folders {
		entries, err := os.ReadDir(folder)
		if err != nil {
			continue // its files are missing
		}
		for _, e := range entries {
			path := filepath.Join(folder, e.Name())
			if rel, err := filepath.Rel(w.folder, path); err == nil && !w.known[path] && isAudio(e) {
				w.all = append(w.all, File{File: filepath.ToSlash(rel), State: Foreign})
			}
		}
	}
}

// isAudio says whether a file has the name of one that a release could write.
func isAudio(e fs.DirEntry) bool {
	return e.Type().IsRegular() && slices.ContainsFunc(audiofile.Containers(), func(c audiofile.Container) bool {
		return strings.EqualFold(filepath.Ext(e.Name()), c.Extension())
	})
}

// hash is the SHA-256 of a file, in hexadecimal.
func (w *work) hash(path string) (string, error) {
	if err := w.ctx.Err(); err != nil {
		return "", err
	}
	f, err := whole.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, interruptible{w.ctx, f}); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// interruptible is a reader that ends when ctx does.
type interruptible struct {
	ctx context.Context
	r   io.Reader
}

func (r interruptible) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.r.Read(p)
}
