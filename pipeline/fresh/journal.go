package fresh

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"sync"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
)

// JournalName is the file beside the ledger in which a run keeps what it has
// finished, for the run after it in case it is killed. The run that ends writes
// the ledger and deletes it.
const JournalName = journalPrefix + journalSuffix

// A part's journal has its numbers in its name. No part writes the ledger, so that its
// journal stays, until a run of the whole release writes it.
const (
	journalPrefix = ".ledgerline-journal"
	journalSuffix = ".jsonl"
)

// JournalOf is the name of a part's journal.
func JournalOf(p Part) string { return journalPrefix + p.Infix() + journalSuffix }

// journalSchema is the version of the form of its lines; no other is read.
const journalSchema = 1

// The kinds of its lines.
const (
	pathsLine = "paths" // files that are about to be put in their places
	entryLine = "entry" // what has been rendered: its files are in their places
)

// journalLine is a line of the journal: one JSON object.
type journalLine struct {
	Schema int           `json:"schema"`
	Kind   string        `json:"kind"`
	Paths  []string      `json:"paths,omitempty"` // relative to the folder, with slashes
	Track  *ledger.Track `json:"track,omitempty"` // the entry that the ledger is to have
	// its record along the track, as it is in the file beside the ledger
	Along json.RawMessage  `json:"along,omitempty"`
	Files map[string]Sight `json:"files,omitempty"` // stamps and hashes of its mix and its files, named as Paths
}

// Journal is the journal of a run that is under way. It is safe for use by
// several goroutines at once.
type Journal struct {
	path string
	tell func(line []byte) // is given each line too, one at a time, without records along tracks; nil: nobody is

	mu   sync.Mutex
	file *os.File // nil until the first line
	size int64    // of the whole lines in it
}

// openJournal is the journal of a run that goes on from the one before it, of
// which the first size bytes count.
func openJournal(path string, size int64, tell func([]byte)) *Journal {
	return &Journal{path: path, size: size, tell: tell}
}

// Paths notes files that are about to be put in their places. When it returns,
// the line is on the disk: otherwise a power cut could leave a file in place
// and no record that it is ours.
func (j *Journal) Paths(names []string) error {
	if err := j.append(journalLine{Schema: journalSchema, Kind: pathsLine, Paths: names}); err != nil {
		return err
	}
	return j.file.Sync()
}

// Entry notes what has been rendered. The line is not waited for: a power cut
// that takes it costs one more render of that track, and nothing else. The line of its record along the track
// is nil where the journal has it already.
func (j *Journal) Entry(t *ledger.Track, along []byte, files map[string]Sight) error {
	return j.append(journalLine{Schema: journalSchema, Kind: entryLine, Track: t, Along: along, Files: files})
}

// Sync brings all lines to the disk.
func (j *Journal) Sync() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.file == nil {
		return nil
	}
	return j.file.Sync()
}

// append adds a line with one write. What a write leaves that fails is cut off
// again, so that no later line is joined to it.
func (j *Journal) append(l journalLine) error {
	text, err := l.text()
	if err != nil {
		return err
	}
	told := text
	if l.Along != nil && j.tell != nil {
		l.Along = nil
		if told, err = l.text(); err != nil {
			return err
		}
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.open(); err != nil {
		return err
	}
	if _, err := j.file.WriteAt(text, j.size); err != nil {
		_ = j.file.Truncate(j.size)
		return err
	}
	j.size += int64(len(text))
	if j.tell != nil {
		j.tell(told)
	}
	return nil
}

// text is a line with its end.
func (l journalLine) text() ([]byte, error) {
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	err := e.Encode(l)
	return text.Bytes(), err
}

// open opens the file for the first line, and cuts off what does not count.
func (j *Journal) open() error {
	if j.file != nil {
		return nil
	}
	if err := whole.Odd(j.path); err != nil {
		return err
	}
	f, err := os.OpenFile(j.path, os.O_WRONLY|os.O_CREATE, 0o666)
	if err != nil {
		return err
	}
	if err := f.Truncate(j.size); err != nil {
		f.Close()
		return err
	}
	syncFolder(filepath.Dir(j.path))
	j.file = f
	return nil
}

// syncFolder brings the names in a folder to the disk, where a system can.
func syncFolder(folder string) {
	if f, err := os.Open(folder); err == nil {
		_ = f.Sync()
		f.Close()
	}
}

// Close ends the journal and leaves it where it is.
func (j *Journal) Close() {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.file != nil {
		j.file.Close()
		j.file = nil
	}
}

// Remove ends the journal: the ledger has all that is in it.
func (j *Journal) Remove() {
	j.Close()
	_ = os.Remove(j.path) // one that stays says what the ledger says
}
