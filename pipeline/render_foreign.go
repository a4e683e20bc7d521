package pipeline

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// ForeignError says that there is a file in an output's place that this release
// did not write: no ledger, state file or journal of it has that path.
type ForeignError struct {
	File string // relative to the release file, with slashes
	Kept string // what it is, where nothing replaces that: "a folder", "a named pipe"; empty: a file
}

func (e *ForeignError) Error() string {
	if e.Kept != "" {
		return fmt.Sprintf("%q is in the way: it is %s, which is never replaced; move it away", e.File, e.Kept)
	}
	return fmt.Sprintf("%q is in the way: this release did not write it, so it is not replaced; move it away, "+
		"or allow it with --replace", e.File)
}

// inTheWay fails with a *ForeignError if what is at an output's path is not ours.
// Ours is what is recorded by its path, whatever became of its content.
func (e *engine) inTheWay(path string) error {
	info, err := os.Lstat(path)
	_, now := e.written.Load(path)
	switch {
	case err == nil && info.IsDir():
		return &ForeignError{File: fresh.Relative(e.release.Folder, path), Kept: "a folder"}
	case err == nil && whole.Oddity(info.Mode()) != "":
		return &ForeignError{File: fresh.Relative(e.release.Folder, path), Kept: whole.Oddity(info.Mode())}
	case now || e.options.Replace || e.past.Ours.Has(path) || errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	}
	return &ForeignError{File: fresh.Relative(e.release.Folder, path)}
}

// oddBeside fails if something that is neither a file nor a folder is where a run keeps the ledger or its own
// records: it is never opened and never replaced. The page, which no run depends on, has a note instead.
func oddBeside(r *release.Release) error {
	at := filepath.Join(r.Output.Folder, ledger.FileName)
	paths := []string{at, along.Beside(at)}
	for _, name := range []string{lockName, fresh.StateName, fresh.BriefName, fresh.JournalName} {
		paths = append(paths, filepath.Join(r.Output.Folder, name))
	}
	for _, path := range paths {
		if err := whole.Odd(path); err != nil {
			return fmt.Errorf("%w: move it away", err)
		}
	}
	return nil
}

// foresee is the error that a foreign file will be to a render, or to its
// matched copy.
func (e *engine) foresee(r *release.Render) error {
	for _, path := range e.outputsOf(r) {
		if err := e.inTheWay(path); err != nil {
			return err
		}
	}
	return nil
}

// outputsOf are the files that the release asks for of a render.
func (e *engine) outputsOf(r *release.Render) []string {
	paths := []string{r.Output}
	if e.wantsRemoved(r) {
		paths = append(paths, r.Removed())
	}
	if e.release.Matches() && r.Main == nil {
		paths = append(paths, r.Matched())
	}
	return paths
}
