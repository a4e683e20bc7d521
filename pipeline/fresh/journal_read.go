package fresh

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
)

// longestLine is more than the entry of a track of a hundred stages takes, in
// bytes. What is longer is no line of a journal.
const longestLine = 64 << 20

// found is what a run finds in the journal of one that was killed.
type found struct {
	name  string
	lines []journalLine
	size  int64  // bytes of the lines that count
	fault string // why the lines after those are ignored; empty: there are none, or a last one that is torn
}

// readJournal reads a journal as far as it can be read; one that is not there
// has nothing in it. A last line without its end is what a killed process was
// writing, and is skipped.
func readJournal(path string) (found, error) {
	var j found
	f, err := whole.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return j, nil
	}
	if err != nil {
		return j, fmt.Errorf("reading the journal: %w", err)
	}
	defer f.Close()
	r := bufio.NewReaderSize(f, 1<<16)
	for n := 1; ; n++ {
		text, err := nextLine(r)
		switch {
		case errors.Is(err, io.EOF):
			return j, nil
		case errors.Is(err, errLongLine):
			j.fault = fmt.Sprintf("line %d: %v", n, err)
			return j, nil
		case err != nil:
			return j, fmt.Errorf("reading the journal: %w", err)
		}
		l, err := parseLine(text)
		if err != nil {
			j.fault = fmt.Sprintf("line %d: %v", n, err)
			return j, nil
		}
		j.lines = append(j.lines, l)
		j.size += int64(len(text))
	}
}

var errLongLine = fmt.Errorf("longer than %d MiB", longestLine>>20)

// nextLine is the next line with its end; io.EOF where no whole one follows.
func nextLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case err == nil:
			return line, nil
		case !errors.Is(err, bufio.ErrBufferFull):
			return nil, err
		case len(line) > longestLine:
			return nil, errLongLine
		}
	}
}

// parseLine reads a line. A later schema explains every other mistake, so it is
// told first.
func parseLine(text []byte) (journalLine, error) {
	var head struct {
		Schema int             `json:"schema"`
		Track  json.RawMessage `json:"track"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return journalLine{}, fmt.Errorf("not a line of a journal: %w", err)
	}
	if head.Schema != journalSchema {
		return journalLine{}, fmt.Errorf("a journal of schema %d; this version reads schema %d", head.Schema,
			journalSchema)
	}
	var l journalLine
	if err := json.Unmarshal(text, &l); err != nil {
		return l, fmt.Errorf("not a line of a journal: %w", err)
	}
	switch {
	case l.Kind == pathsLine && len(l.Paths) > 0:
	case l.Kind == entryLine && l.Track != nil:
		t, err := ledger.ParseTrack(head.Track) // settings have the types of their kinds
		if err != nil {
			return l, err
		}
		l.Track = t
	default:
		return l, fmt.Errorf("not a line of a journal: its kind is %q", l.Kind)
	}
	return l, nil
}
