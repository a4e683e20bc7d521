package fresh

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// Past is what earlier runs left in an output folder.
type Past struct {
	Folder string
	Ledger *ledger.Ledger // nil: there is none
	Seen   *Seen
	Ours   Record      // as it was when the run began
	Along  along.Store // records along the tracks, those of the journal too

	rows     []ledger.Row          // of all entries, if the past is known in brief
	briefly  bool                  // it is: Ledger's entries have no chain and no readings
	stamp    stamp                 // of the ledger; zero: there was none
	at       time.Time             // before the stamp was taken
	entries  map[key]*ledger.Track // those of the journal over those of the ledger
	journals []found               // the one that was written to last comes last
}

// key tells the renders of a release apart.
type key struct{ track, variant, delivery string }

func keyOf(t *ledger.Track) key { return key{t.Name, t.Variant, t.Delivery} }

// Open reads what is in an output folder: the ledger, over it the journals of a run that
// was killed and of parts, and the hashes of files. A ledger that cannot be read is as good
// as none if it is to be replaced.
func Open(folder string, replace bool) (*Past, error) {
	p := &Past{Folder: folder, Seen: loadSeen(folder)}
	return p, p.Read(replace)
}

// Glance is what is in an output folder, known in brief if it can be: then nobody need read the ledger to
// see that nothing is to be done. What is to be done takes Read, and so does everything if brief is false.
func Glance(ctx context.Context, folder string, brief bool) *Past {
	p := &Past{Folder: folder, Seen: loadSeen(folder)}
	if !brief {
		return p
	}
	p.at = time.Now()
	p.stamp = p.ledgerStamp()
	if names, err := journalsIn(folder); err != nil || len(names) > 0 {
		return p
	}
	if b := readBrief(folder); b != nil && b.holds(ctx, p) {
		p.take(b)
	}
	return p
}

// Brief says whether the past is known in brief: then these are the rows of all entries.
func (p *Past) Brief() (rows []ledger.Row, ok bool) { return p.rows, p.briefly }

// Read reads all that is in the folder, as Open does.
func (p *Past) Read(replace bool) error {
	p.Ledger, p.rows, p.briefly, p.entries, p.journals = nil, nil, false, map[key]*ledger.Track{}, nil
	p.at = time.Now()
	p.stamp = p.ledgerStamp()
	if err := p.readLedger(replace); err != nil {
		return err
	}
	if err := p.readJournals(); err != nil {
		return err
	}
	if err := p.readAlong(); err != nil {
		return err
	}
	p.Seen.learn(p.lines())
	p.Ours = newRecord(p.Folder, p.Ledger, p.lines(), p.Seen.Made)
	return nil
}

// take takes the past from a ledger in brief.
func (p *Past) take(b *brief) {
	l := b.head.Head
	l.Tracks = make([]ledger.Track, len(b.entries))
	p.rows = make([]ledger.Row, len(b.entries))
	p.entries = make(map[key]*ledger.Track, len(b.entries))
	for i := range b.entries {
		l.Tracks[i], p.rows[i] = b.entries[i].track(), b.entries[i].row()
		p.entries[keyOf(&l.Tracks[i])] = &l.Tracks[i]
	}
	p.Ledger, p.briefly = &l, true
	p.Ours = newRecord(p.Folder, p.Ledger, p.lines(), p.Seen.Made)
}

// HasAlong says whether there is the record along the track of an entry.
func (p *Past) HasAlong(sha string) bool { return p.briefly || p.Along.Has(sha) }

// Moved says whether the ledger in the folder is another one than when the run began.
func (p *Past) Moved() bool { return p.ledgerStamp() != p.stamp }

// Entry is the last entry of a render, nil where there is none.
func (p *Past) Entry(r *release.Render) *ledger.Track {
	return p.entries[key{r.Track, r.Variant, r.Delivery}]
}

func (p *Past) readLedger(replace bool) error {
	path := filepath.Join(p.Folder, ledger.FileName)
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return fmt.Errorf("%s is a folder, and the ledger belongs there: move it away", path)
	}
	if err := whole.Odd(path); err != nil {
		return fmt.Errorf("%w: move it away", err)
	}
	l, err := ledger.Read(path)
	switch {
	case errors.Is(err, fs.ErrNotExist), err != nil && replace:
		return nil
	case err != nil:
		return fmt.Errorf("%w (ledgerline render --force replaces it)", err)
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
	for l := range p.lines() {
		if l.Along != nil {
			p.Along.Add(l.Along)
		}
	}
	return nil
}

// Says tells whether the old ledger says what one with this head and these
// entries would: its own entries, all of them, and no others.
func (p *Past) Says(l *ledger.Ledger, entries []*ledger.Track) bool {
	old := p.Ledger
	if old == nil || p.hasLines() {
		return false
	}
	for _, t := range entries {
		if t == nil || p.entries[keyOf(t)] != t {
			return false
		}
	}
	return len(old.Tracks) == len(entries) && old.Schema == l.Schema && old.Tool == l.Tool &&
		old.Title == l.Title &&
		slices.Equal(old.Order, l.Order) && slices.Equal(old.GapsS, l.GapsS) &&
		slices.Equal(old.Papers, l.Papers) && old.CeilingDBFS == l.CeilingDBFS &&
		old.ReleaseSHA256 == l.ReleaseSHA256
}
