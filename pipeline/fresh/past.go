package fresh

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// unreadName is where a journal goes that could not be read to its end, so that
// nothing in it is lost.
const unreadName = ".ledgerline-journal-unread.jsonl"

// Past is what earlier runs left in an output folder.
type Past struct {
	Folder string
	Ledger *ledger.Ledger // nil: there is none
	Notes  []string       // on what could not be read
	Seen   *Seen
	Ours   Record      // as it was when the run began
	Along  along.Store // records along the tracks, those of the journal too

	entries map[key]*ledger.Track // those of the journal over those of the ledger
	journal found
}

// key tells the renders of a release apart.
type key struct{ track, variant, delivery string }

func keyOf(t *ledger.Track) key { return key{t.Name, t.Variant, t.Delivery} }

// Open reads what is in an output folder: the ledger, over it the journal of a run that
// was killed, and the hashes of files. A ledger that cannot be read is as good as none
// if it is to be replaced.
func Open(folder string, replace bool) (*Past, error) {
	p := &Past{Folder: folder, entries: map[key]*ledger.Track{}}
	if err := p.readLedger(replace); err != nil {
		return nil, err
	}
	if err := p.readJournal(); err != nil {
		return nil, err
	}
	if err := p.readAlong(); err != nil {
		return nil, err
	}
	p.Seen = loadSeen(folder)
	p.Seen.learn(p.journal.lines)
	p.Ours = newRecord(folder, p.Ledger, p.journal.lines, p.Seen.Made)
	return p, nil
}

// Entry is the last entry of a render, nil where there is none.
func (p *Past) Entry(r *release.Render) *ledger.Track {
	return p.entries[key{r.Track, r.Variant, r.Delivery}]
}

func (p *Past) readLedger(replace bool) error {
	l, err := ledger.Read(filepath.Join(p.Folder, ledger.FileName))
	switch {
	case errors.Is(err, fs.ErrNotExist), err != nil && replace:
		return nil
	case err != nil:
		return fmt.Errorf("%w (a forced render replaces it)", err)
	}
	p.Ledger = l
	for i := range l.Tracks {
		t := &l.Tracks[i]
		p.entries[keyOf(t)] = t
	}
	return nil
}

func (p *Past) readAlong() (err error) {
	if p.Along, err = along.Read(along.Beside(filepath.Join(p.Folder, ledger.FileName))); err != nil {
		return fmt.Errorf("reading the record along the tracks: %w", err)
	}
	for _, l := range p.journal.lines {
		if l.Along != nil {
			p.Along.Add(l.Along)
		}
	}
	return nil
}

func (p *Past) readJournal() (err error) {
	if p.journal, err = readJournal(filepath.Join(p.Folder, JournalName)); err != nil {
		return err
	}
	for _, l := range p.journal.lines {
		if l.Track != nil {
			p.entries[keyOf(l.Track)] = l.Track
		}
	}
	if p.journal.fault != "" {
		p.Notes = append(p.Notes, fmt.Sprintf("the journal of a run that was killed is ignored from there on: %s, %s",
			JournalName, p.journal.fault))
	}
	return nil
}

// Stands tells whether the old ledger says what one with this head and these
// entries would: its own entries, all of them, and no others.
func (p *Past) Stands(l *ledger.Ledger, entries []*ledger.Track) bool {
	old := p.Ledger
	if old == nil || len(p.journal.lines) > 0 {
		return false
	}
	for _, t := range entries {
		if t == nil || p.entries[keyOf(t)] != t {
			return false
		}
	}
	return len(old.Tracks) == len(entries) && old.Schema == l.Schema && old.Tool == l.Tool && old.Title == l.Title &&
		old.CeilingDBFS == l.CeilingDBFS && old.ReleaseSHA256 == l.ReleaseSHA256
}

// OpenJournal readies the journal of the next run, which goes on from what was read of
// the last one. One that could not be read to its end is put aside. Each line is given to
// tell too, one at a time; nil: to nobody.
func (p *Past) OpenJournal(tell func(line []byte)) (*Journal, error) {
	path := filepath.Join(p.Folder, JournalName)
	if p.journal.fault != "" {
		if err := setAside(path, filepath.Join(p.Folder, unreadName), p.journal.size); err != nil {
			return nil, fmt.Errorf("put the journal aside: %w", err)
		}
	}
	return openJournal(path, p.journal.size, tell), nil
}

// setAside gives a file another name, and leaves its first size bytes under its own.
func setAside(path, to string, size int64) error {
	f, err := os.Open(path)
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
