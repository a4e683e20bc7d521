package fresh

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// Past is what earlier runs left in an output folder.
type Past struct {
	Folder string
	Ledger *ledger.Ledger // nil: there is none
	Seen   *Seen
	Ours   Record      // as it was when the run began
	Along  along.Store // records along the tracks, those of the journal too

	stamp    stamp                 // of the ledger; zero: there was none
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
	p := &Past{Folder: folder, entries: map[key]*ledger.Track{}}
	p.stamp = p.ledgerStamp()
	if err := p.readLedger(replace); err != nil {
		return nil, err
	}
	if err := p.readJournals(); err != nil {
		return nil, err
	}
	if err := p.readAlong(); err != nil {
		return nil, err
	}
	p.Seen = loadSeen(folder)
	p.Seen.learn(p.lines())
	p.Ours = newRecord(folder, p.Ledger, p.lines(), p.Seen.Made)
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
	return len(old.Tracks) == len(entries) && old.Schema == l.Schema && old.Tool == l.Tool && old.Title == l.Title &&
		slices.Equal(old.Order, l.Order) && slices.Equal(old.GapsS, l.GapsS) && old.CeilingDBFS == l.CeilingDBFS && old.ReleaseSHA256 == l.ReleaseSHA256
}
