package along

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"strings"

	"ledgerline/pipeline/whole"
)

// Extension is what the name of the file has in the place of the ledger's ".json".
const Extension = ".along.jsonl"

// Beside is the path of the file that belongs to a ledger.
func Beside(ledger string) string {
	return strings.TrimSuffix(ledger, filepath.Ext(ledger)) + Extension
}

// Line is the line of a record, without its end, and its hash in hexadecimal.
func (r *Record) Line() (line []byte, sha string, err error) {
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return nil, "", err
	}
	line = bytes.TrimSuffix(text.Bytes(), []byte("\n"))
	return line, hash(line), nil
}

func hash(line []byte) string {
	sum := sha256.Sum256(line)
	return hex.EncodeToString(sum[:])
}

// A Store has lines by their hashes. It is not safe for use by several goroutines at once while lines are
// added.
type Store map[string][]byte

// Add puts a line into the store.
func (s Store) Add(line []byte) { s[hash(line)] = line }

// Has says whether there is a line of a hash.
func (s Store) Has(sha string) bool { return s[sha] != nil }

// Record is the record of a hash, nil where there is none. A line that is no record is an error.
func (s Store) Record(sha string) (*Record, error) {
	line := s[sha]
	if line == nil {
		return nil, nil
	}
	r := &Record{}
	if err := json.Unmarshal(line, r); err != nil {
		return nil, fmt.Errorf("not a record along a track: %w", err)
	}
	return r, r.check()
}

// check finds contradictions in a record that was read.
func (r *Record) check() error {
	n := len(r.PeakIn)
	if r.RateHz < 1 || r.Channels < 1 || r.Frames < 0 || n > MostColumns {
		return fmt.Errorf("not a record along a track: %d Hz, %d channels, %d frames, %d columns", r.RateHz,
			r.Channels, r.Frames, n)
	}
	for _, l := range []int{len(r.PeakOut), len(r.Momentary), len(r.Removed), len(r.Clipped)} {
		if l != n {
			return fmt.Errorf("not a record along a track: columns of %d and %d values", n, l)
		}
	}
	if l := len(r.NoiseToMask); l != n && l != 0 {
		return fmt.Errorf("not a record along a track: columns of %d and %d values", n, l)
	}
	if s := r.Spectrum; s != nil &&
		(len(s.Programme) != len(s.Hz) || len(s.Mask) != len(s.Hz) || len(s.Changed) != len(s.Hz)) {
		return errors.New("not a record along a track: a spectrum of bands without values")
	}
	return nil
}

// Read reads a file; one that is not there has no lines.
func Read(path string) (Store, error) {
	s := Store{}
	text, err := whole.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if info, unseen := os.Stat(path); unseen == nil && info.IsDir() {
		return s, fmt.Errorf("%s is a folder, and a file belongs there: move it away", path)
	}
	if err != nil {
		return s, err
	}
	for line := range bytes.Lines(text) {
		s.Add(bytes.TrimSuffix(line, []byte("\n")))
	}
	return s, nil
}

// Write writes the lines of the hashes, in their order, unless that is what the file has. A hash that the
// store has no line of is passed over.
func (s Store) Write(path string, shas []string) error {
	if s.IsIn(path, shas) {
		return nil
	}
	f, err := whole.Create(path)
	if err != nil {
		return err
	}
	defer f.Abort()
	w := bufio.NewWriterSize(f, 1<<16)
	for line := range s.lines(shas) {
		_, _ = w.Write(line) // an error stays and is told of by Flush
		_ = w.WriteByte('\n')
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Commit()
}

// lines are those of the hashes.
func (s Store) lines(shas []string) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		for _, sha := range shas {
			if line := s[sha]; line != nil && !yield(line) {
				return
			}
		}
	}
}

// IsIn says whether a file has the lines of the hashes and no more. One that is not there has none.
func (s Store) IsIn(path string, shas []string) bool {
	f, err := whole.Open(path)
	if err != nil {
		for range s.lines(shas) {
			return false
		}
		return errors.Is(err, fs.ErrNotExist)
	}
	defer f.Close()
	r := bufio.NewReaderSize(f, 1<<16)
	var text []byte
	for line := range s.lines(shas) {
		text = append(text[:0], line...)
		if _, err := io.ReadFull(r, text); err != nil || !bytes.Equal(text, line) {
			return false
		}
		if end, err := r.ReadByte(); err != nil || end != '\n' {
			return false
		}
	}
	_, err = r.ReadByte()
	return errors.Is(err, io.EOF)
}
