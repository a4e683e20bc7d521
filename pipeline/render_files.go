package pipeline

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/track"
	"ledgerline/pipeline/whole"
)

// files is how audio files are opened and made.
type files struct {
	open   func(path string) (track.AudioFile, error)
	create func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error)
	lock   locker // nil: as tryLock
}

func (f files) locker() locker {
	if f.lock == nil {
		return tryLock
	}
	return f.lock
}

// onDisk is how they are in earnest. A file that could not be had is no
// interface of a nil pointer.
var onDisk = files{
	open: func(path string) (track.AudioFile, error) {
		r, err := audiofile.Open(path)
		if err != nil {
			return nil, err
		}
		return r, nil
	},
	create: func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
		w, err := audiofile.CreateWith(path, info, beside)
		if err != nil {
			return nil, err
		}
		return w, nil
	},
}

// guard keeps the mixes of a release from being written over.
type guard struct {
	paths []string
	once  sync.Once
	mixes whole.Files // those that are there, in the order of named
	named []string
}

// check fails if what is at a path is one of the mixes, under this name or
// through a link.
func (g *guard) check(path string) error {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	g.once.Do(g.look)
	if n := g.mixes.Find(info); n >= 0 {
		return fmt.Errorf("the output %q is the mix %q: a mix is never written over", path, g.named[n])
	}
	return nil
}

func (g *guard) look() {
	for _, path := range g.paths {
		if info, err := os.Stat(path); err == nil {
			g.mixes.Add(info)
			g.named = append(g.named, path)
		}
	}
}

// make starts a file in a folder that need not exist yet.
func (e *engine) make(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, err
	}
	e.tidy(folder)
	if err := e.mixes.check(path); err != nil {
		return nil, err
	}
	if err := e.inTheWay(path); err != nil {
		return nil, err
	}
	return e.files.create(path, info, beside)
}

// tidy removes, once in a run, what dead processes left in a folder. Litter is
// no reason to fail.
func (e *engine) tidy(folder string) {
	if _, done := e.tidied.LoadOrStore(folder, true); !done {
		_, _ = whole.Clean(folder)
	}
}

// finish puts a file in its place. What is there is looked at again: a
// link may have been made meanwhile. The caller holds a token.
func (e *engine) finish(path string, s track.Sink) error {
	if err := e.mixes.check(path); err != nil {
		return err
	}
	if err := e.inTheWay(path); err != nil {
		return err
	}
	if err := e.crew.Lend(s.Commit); err != nil {
		return err
	}
	e.past.Seen.Wrote(path, s.SHA256())
	e.written.Store(path, s.SHA256())
	return nil
}

// finishExtra is finish for a file that is in the ledger as an extra.
func (e *engine) finishExtra(path string, s track.Sink) (*ledger.Extra, error) {
	if err := e.finish(path, s); err != nil {
		return nil, err
	}
	return &ledger.Extra{File: fresh.Relative(e.release.Output.Folder, path), SHA256: s.SHA256()}, nil
}

// made is what the next run shall know of the files of this release.
func (e *engine) made() map[string][]string {
	written := map[string]string{}
	e.written.Range(func(path, sha any) bool {
		written[path.(string)] = sha.(string)
		return true
	})
	return e.past.Ours.Made(e.release.Output.Folder, written)
}
