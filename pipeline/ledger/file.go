package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"ledgerline/pipeline/whole"
)

// FileName is the name of the ledger in an output folder.
const FileName = "ledger.json"

// largest is the longest ledger that is read, in bytes: some 20000 tracks.
const largest = 256 << 20

// Encode writes the ledger as JSON: indented, a key a line, in a fixed order.
func (l *Ledger) Encode(w io.Writer) error { return EncodeJSON(w, l) }

// EncodeJSON writes any record in the layout that all JSON of this program has:
// indented by two spaces, a key a line, letters as they are.
func EncodeJSON(w io.Writer, record any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false) // a title with & stays readable
	e.SetIndent("", "  ")
	return e.Encode(record)
}

// Write writes the ledger to a file, whole or not at all: whoever reads it finds
// the old one or the new one. The permissions of an older ledger are kept.
func Write(path string, l *Ledger) error {
	var text bytes.Buffer
	if err := l.Encode(&text); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err := whole.Write(path, text.Bytes()); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

// Read reads the ledger in a file. Where the file does not exist, the error is
// an fs.ErrNotExist.
func Read(path string) (*Ledger, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return Parse(f, path)
}

// Parse reads a ledger; name is what errors call it. It refuses what is not
// JSON, is not a ledger, is of a later schema, or contradicts itself.
func Parse(r io.Reader, name string) (*Ledger, error) {
	text, err := io.ReadAll(io.LimitReader(r, largest+1))
	if err != nil {
		return nil, fmt.Errorf("reading the ledger %s: %w", name, err)
	}
	if len(text) > largest {
		return nil, fmt.Errorf("%s: longer than any ledger, more than %d MiB", name, largest>>20)
	}
	l := &Ledger{}
	if err := l.decode(text, name); err != nil {
		return nil, err
	}
	return l, nil
}
