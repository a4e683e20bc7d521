package pipeline

import (
	"context"
	"fmt"
	"os"
	"time"
)

// An input is an audio file being read, and what makes sure that all of it was
// one and the same file.
type input struct {
	source
	path  string
	begun time.Time
	had   stamp
	sha   string // of the whole file; empty: it is hashed as it is read
}

// openInput opens a file to be read once.
func (e *engine) openInput(path string) (*input, error) {
	in := &input{path: path, begun: time.Now()}
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	in.had = stampOf(info)
	if in.source, err = e.files.open(path); err != nil {
		return nil, err
	}
	if known, ok := e.seen.recall(path, in.had); ok {
		in.sha = known.SHA256
	} else if err := in.Hash(); err != nil {
		in.Close()
		return nil, err
	}
	return in, nil
}

// sum is the hash of the file, all of whose audio has been read. It fails if
// the file's content was changed meanwhile, or the file is gone.
func (in *input) sum(ctx context.Context, s *seen) (string, error) {
	if in.sha == "" {
		sha, err := in.SHA256()
		if err != nil {
			return "", err
		}
		in.sha = sha
	}
	info, err := os.Stat(in.path)
	if err != nil {
		return "", fmt.Errorf("it went away while it was being read: %w", err)
	}
	if stampOf(info) == in.had {
		s.add(in.path, memory{sight: sight{in.had, in.sha}, at: in.begun})
		return in.sha, nil
	}
	// A touch or a link gives the same content another stamp.
	now, err := s.read(ctx, in.path)
	if err != nil {
		return "", err
	}
	if now.SHA256 != in.sha {
		return "", fmt.Errorf("%q was changed while it was being read", in.path)
	}
	return in.sha, nil
}
