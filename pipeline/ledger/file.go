package ledger

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"

	"ledgerline/pipeline/whole"
)

// FileName is the name of the ledger in an output folder.
const FileName = "ledger.json"

// largest is the longest ledger that is read, in bytes.
const largest = 1 << 30

// Encode writes the ledger as JSON: indented, a key a line, in a fixed order.
func (l *Ledger) Encode(w io.Writer) error { return l.writeEntries(w) }

// EncodeJSON writes any record in the layout that all JSON of this program has:
// indented by two spaces, a key a line, letters as they are.
func EncodeJSON(w io.Writer, record any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false) // a title with & stays readable
	e.SetIndent("", "  ")
	return e.Encode(record)
}

// Write writes the ledger to a file, whole or not at all: whoever reads it finds the old one or the new
// one. The permissions of an older ledger are kept. The SHA-256 of the file comes back, in hexadecimal.
func Write(path string, l *Ledger) (sha string, err error) {
	sha, err = write(path, l)
	if err != nil {
		return "", fmt.Errorf("writing %s: %w", path, err)
	}
	return sha, nil
}

func write(path string, l *Ledger) (sha string, err error) {
	f, err := whole.Create(path)
	if err != nil {
		return "", err
	}
	defer f.Abort()
	sum := sha256.New()
	c := &counter{to: io.MultiWriter(f, sum)}
	if err := l.Encode(c); err != nil {
		return "", err
	}
	if c.n > largest {
		return "", &TooLongError{c.n}
	}
	if err := f.Commit(); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// Read reads the ledger in a file. Where the file does not exist, the error is
// an fs.ErrNotExist.
func Read(path string) (*Ledger, error) {
	f, err := whole.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	size := int64(0)
	if info, err := f.Stat(); err == nil && info.Mode().IsRegular() && info.Size() <= largest {
		size = info.Size()
		if l, ok := readEntries(bufio.NewReaderSize(f, 1<<16)); ok {
			return l, nil
		}
		if _, err := f.Seek(0, io.SeekStart); err != nil {
			return nil, fmt.Errorf("reading the ledger %s: %w", path, err)
		}
	}
	return parse(f, path, size)
}

// Parse reads a ledger; name is what errors call it. It refuses what is not
// JSON, is not a ledger, is of a later schema, or contradicts itself, with an *UnreadableError.
func Parse(r io.Reader, name string) (*Ledger, error) { return parse(r, name, 0) }

// parse reads a ledger that has so many bytes, as far as is known: then they are in memory once and not
// twice.
func parse(r io.Reader, name string, size int64) (*Ledger, error) {
	var b bytes.Buffer
	b.Grow(int(size) + bytes.MinRead)
	if _, err := b.ReadFrom(io.LimitReader(r, largest+1)); err != nil {
		return nil, fmt.Errorf("reading the ledger %s: %w", name, err)
	}
	text := b.Bytes()
	if len(text) > largest {
		return nil, &UnreadableError{fmt.Errorf("%s: longer than any ledger, more than %d MiB", name, largest>>20)}
	}
	l := &Ledger{}
	if err := l.decode(text, name); err != nil {
		return nil, &UnreadableError{err}
	}
	return l, nil
}

// UnreadableError says why this version cannot read what is in a ledger's place: it is no ledger, is of a
// later schema, or contradicts itself. Somebody has to look at it before anything can be done.
type UnreadableError struct{ Err error }

func (e *UnreadableError) Error() string { return e.Err.Error() }

func (e *UnreadableError) Unwrap() error { return e.Err }
