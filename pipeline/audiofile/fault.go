package audiofile

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
)

// The kinds of what can be wrong with a file, for errors.Is.
var (
	ErrNotAudio    = errors.New("not a WAV, FLAC or AIFF file")
	ErrCorrupt     = errors.New("corrupt file")
	ErrUnsupported = errors.New("unsupported file")
)

// fault is something wrong with a file.
type fault struct {
	kind  error  // one of the above
	form  string // of the file, such as FLAC; empty: WAV
	place string // chunk and offset; may be empty
	text  string // what was found and what would be right
}

func faultf(kind error, place, format string, args ...any) error {
	return &fault{kind: kind, place: place, text: fmt.Sprintf(format, args...)}
}

// in is err, of a file of another form than WAV.
func in(form string, err error) error {
	if f := (*fault)(nil); errors.As(err, &f) {
		f.form = form
	}
	return err
}

func (f *fault) Error() string {
	what := f.kind.Error()
	switch form := cmp.Or(f.form, "WAV"); f.kind {
	case ErrCorrupt:
		what = "corrupt " + form + " file"
	case ErrUnsupported:
		what = "unsupported " + form + " file"
	}
	if f.place != "" {
		what += ": " + f.place
	}
	return what + ": " + f.text
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
