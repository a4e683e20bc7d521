package track

import (
	"context"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/stages"
)

// An AudioFile is one that is read from its start to its end, as
// audiofile.Reader is.
type AudioFile interface {
	Info() audiofile.Info
	Read(dst stages.Block) (int, error)
	Hash() error
	SHA256() (string, error)
	Close() error
}

// A Sink is an audio file in the making, as audiofile.Writer is.
type Sink interface {
	Write(stages.Block) error
	Finish() (path string, err error)
	Commit() error
	Abort()
	Measured(audiofile.Loudness)
	Limited() int64
	SHA256() string
}

// An Input is an audio file being read, and what makes sure that all of it was
// one and the same file.
type Input struct {
	AudioFile
	visit *fresh.Visit
}

// Open opens a file to be read once.
func Open(path string, seen *fresh.Seen, open func(path string) (AudioFile, error)) (*Input, error) {
	visit, err := seen.Visit(path)
	if err != nil {
		return nil, err
	}
	in := &Input{visit: visit}
	if in.AudioFile, err = open(path); err != nil {
		return nil, err
	}
	if !visit.Known() {
		if err := in.Hash(); err != nil {
			in.Close()
			return nil, err
		}
	}
	return in, nil
}

// Sum is the hash of the file, all of whose audio has been read. It fails if
// the file's content was changed meanwhile, or the file is gone.
func (in *Input) Sum(ctx context.Context) (string, error) { return in.visit.End(ctx, in.SHA256) }
