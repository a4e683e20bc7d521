package audiofile

import (
	"errors"
	"fmt"
	"io/fs"
)

// The kinds of what can be wrong with a file, for errors.Is.
var (
	ErrNotWAV      = errors.New("not a WAV file")
	ErrCorrupt     = errors.New("corrupt WAV file")
	ErrUnsupported = errors.New("unsupported WAV file")
)

// fault is something wrong with a file.
type fault struct {
	kind  error  // one of the above
	place string // chunk and offset; may be empty
	text  string // what was found and what would be right
}

func faultf(kind error, place, format string, args ...any) error {
	return &fault{kind, place, fmt.Sprintf(format, args...)}
}

func (f *fault) Error() string {
	if f.place == "" {
		return f.kind.Error() + ": " + f.text
	}
	return f.kind.Error() + ": " + f.place + ": " + f.text
}

func (f *fault) Unwrap() error { return f.kind }

// of names the file at path in err, once: the system's errors name it themselves.
func of(path string, err error) error {
	if err == nil {
		return nil
	}
	if p := (*fs.PathError)(nil); errors.As(err, &p) {
		return fmt.Errorf("%s: %s: %w", path, p.Op, p.Err)
	}
	return fmt.Errorf("%s: %w", path, err)
}
