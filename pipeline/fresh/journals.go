package fresh

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ledgerline/pipeline/whole"
)

// unreadSuffix ends the name that a journal gets which could not be read to its end, so that nothing in it is
// lost.
const unreadSuffix = "-unread" + journalSuffix

// journalsIn are the names of the journals in a folder, the one that was written to last at the end: where
// two have an entry of one render, because the number of parts or a group has changed, that one is the later.
func journalsIn(folder string) ([]string, error) {
	list, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("looking for journals: %w", err)
	}
	var names []string
	written := map[string]time.Time{}
	for _, entry := range list {
		name := entry.Name()
		if !isJournal(name) {
			continue
		}
		info, err := entry.Info()
		if err != nil {
			continue // gone meanwhile
		}
		names, written[name] = append(names, name), info.ModTime()
	}
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(written[a].Compare(written[b]), cmp.Compare(a, b))
	})
	return names, nil
}

// isJournal says whether a file's name is that of a journal, a part's or the whole release's.
func isJournal(name string) bool {
	if name == JournalName {
		return true
	}
	numbers, ok := strings.CutPrefix(name, journalPrefix+"-")
	if !ok {
		return false
	}
	numbers, ok = strings.CutSuffix(numbers, journalSuffix)
	p, err := ParsePart(strings.Replace(numbers, "-", "/", 1))
	return ok && err == nil && name == JournalOf(p)
}

func (p *Past) readJournals() error {
	names, err := journalsIn(p.Folder)
	if err != nil {
		return err
	}
	for _, name := range names {
		j, err := readJournal(filepath.Join(p.Folder, name))
		if err != nil {
			return err
		}
		j.name = name
		p.journals = append(p.journals, j)
		for _, l := range j.lines {
			if l.Track != nil {
				p.entries[keyOf(l.Track)] = l.Track
			}
		}
	}
	return nil
}

// Notes tell which journals could not be read to their ends. For a part that is its own alone: the others may
// be at work.
func (p *Past) Notes(part Part) []string {
	var notes []string
	for _, j := range p.journals {
		if j.fault != "" && (part.Whole() || j.name == JournalOf(part)) {
			notes = append(notes, fmt.Sprintf("%s, the journal of a run that was killed, is ignored from %s",
				j.name, j.fault))
		}
	}
	return notes
}

// lines are the lines of all journals.
func (p *Past) lines() iter.Seq[*journalLine] {
	return func(yield func(*journalLine) bool) {
		for _, j := range p.journals {
			for i := range j.lines {
				if !yield(&j.lines[i]) {
					return
				}
			}
		}
	}
}

func (p *Past) hasLines() bool {
	return slices.ContainsFunc(p.journals, func(j found) bool { return len(j.lines) > 0 })
}

// OpenJournal readies the journal of a run, of a part or of the whole release, which goes on from what was
// read of the last one. One that could not be read to its end is put aside; a part looks after its own alone,
// since the others may be at work. Each line is given to tell too, one at a time; nil: to nobody.
func (p *Past) OpenJournal(part Part, tell func(line []byte)) (*Journal, error) {
	own := JournalOf(part)
	size := int64(0)
	for _, j := range p.journals {
		if j.name == own {
			size = j.size
		}
		if j.fault == "" || !part.Whole() && j.name != own {
			continue
		}
		path := filepath.Join(p.Folder, j.name)
		if err := setAside(path, strings.TrimSuffix(path, journalSuffix)+unreadSuffix, j.size); err != nil {
			return nil, fmt.Errorf("put the journal aside: %w", err)
		}
	}
	return openJournal(filepath.Join(p.Folder, own), size, tell), nil
}

// RemoveJournals deletes all journals that were read: the ledger has what is in them.
func (p *Past) RemoveJournals() {
	for _, j := range p.journals {
		_ = os.Remove(filepath.Join(p.Folder, j.name)) // one that stays says what the ledger says
	}
}

// setAside gives a file another name, and leaves its first size bytes under its own.
func setAside(path, to string, size int64) error {
	f, err := whole.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	text := make([]byte, size)
	if _, err := io.ReadFull(f, text); err != nil {
		return err
	}
	_ = os.Remove(to)
	if os.Link(path, to) != nil { // no such links here
		if err := os.Rename(path, to); err != nil {
			return err
		}
	}
	return whole.Write(path, text)
}
