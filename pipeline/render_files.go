package pipeline

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
	"ledgerline/stages"
)

// A source is an audio file that is read from its start to its end, as
// audiofile.Reader is.
type source interface {
	Info() audiofile.Info
	Read(dst stages.Block) (int, error)
	Hash() error
	SHA256() (string, error)
	Close() error
}

// A sink is an audio file in the making, as audiofile.Writer is.
type sink interface {
	Write(stages.Block) error
	Commit() error
	Abort()
	Limited() int64
	SHA256() string
}

// files is how audio files are opened and made.
type files struct {
	open   func(path string) (source, error)
	create func(path string, info audiofile.Info) (sink, error)
}

// onDisk is how they are in earnest. A file that could not be had is no
// interface of a nil pointer.
var onDisk = files{
	open: func(path string) (source, error) {
		r, err := audiofile.Open(path)
		if err != nil {
			return nil, err
		}
		return r, nil
	},
	create: func(path string, info audiofile.Info) (sink, error) {
		w, err := audiofile.Create(path, info)
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
	infos []fs.FileInfo // of the mixes that are there, in the order of named
	named []string
}

// check fails if what stands at a path is one of the mixes, under this name or
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
	for i, mix := range g.infos {
		if os.SameFile(mix, info) {
			return fmt.Errorf("the output %q is the mix %q: a mix is never written over", path, g.named[i])
		}
	}
	return nil
}

func (g *guard) look() {
	for _, path := range g.paths {
		if info, err := os.Stat(path); err == nil {
			g.infos = append(g.infos, info)
			g.named = append(g.named, path)
		}
	}
}

// make starts a file in a folder that need not exist yet.
func (e *engine) make(path string, info audiofile.Info) (sink, error) {
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
	return e.files.create(path, info)
}

// tidy removes, once in a run, what dead processes left in a folder. Litter is
// no reason to fail.
func (e *engine) tidy(folder string) {
	if _, done := e.tidied.LoadOrStore(folder, true); !done {
		_, _ = whole.Clean(folder)
	}
}

// finish puts a file in its place. What stands there is looked at again: a
// link may have been made meanwhile. The caller holds a token.
func (e *engine) finish(path string, s sink) error {
	if err := e.mixes.check(path); err != nil {
		return err
	}
	if err := e.inTheWay(path); err != nil {
		return err
	}
	if err := e.lend(s.Commit); err != nil {
		return err
	}
	e.seen.wrote(path, s.SHA256())
	e.written.Store(path, s.SHA256())
	return nil
}

// finishExtra is finish for a file that stands in the ledger as an extra.
func (e *engine) finishExtra(path string, s sink) (*ledger.Extra, error) {
	if err := e.finish(path, s); err != nil {
		return nil, err
	}
	return &ledger.Extra{File: relative(e.release.Output.Folder, path), SHA256: s.SHA256()}, nil
}
