package pipeline

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// unreadName is where a journal goes that could not be read to its end, so that
// nothing in it is lost.
const unreadName = ".ledgerline-journal-unread.jsonl"

// readJournal reads the journal in an output folder over the ledger.
func (o *oldLedger) readJournal(folder string) (err error) {
	if o.journal, err = readJournal(filepath.Join(folder, journalName)); err != nil {
		return err
	}
	for _, l := range o.journal.lines {
		if l.Track != nil {
			o.entries[renderKey{l.Track.Name, l.Track.Variant}] = l.Track
		}
	}
	if o.journal.fault != "" {
		o.notes = append(o.notes, fmt.Sprintf("the journal of a run that was killed is ignored from there on: %s, %s",
			journalName, o.journal.fault))
	}
	return nil
}

// openJournal readies the journal of this run. One that could not be read to its
// end is put aside, and this run goes on from what was read of it.
func (e *engine) openJournal() error {
	path := filepath.Join(e.release.Output.Folder, journalName)
	if e.old.journal.fault != "" {
		if err := setAside(path, filepath.Join(e.release.Output.Folder, unreadName), e.old.journal.size); err != nil {
			return fmt.Errorf("put the journal aside: %w", err)
		}
	}
	e.journal = openJournal(path, e.old.journal.size, e.options.Journal)
	return nil
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

// announce notes in the journal, on the disk, which files are about to be put in
// their places. None of them may be foreign. The caller holds a token.
func (e *engine) announce(paths ...string) error {
	names := make([]string, len(paths))
	for i, path := range paths {
		if err := e.mixes.check(path); err != nil {
			return err
		}
		if err := e.inTheWay(path); err != nil {
			return err
		}
		names[i] = relative(e.release.Output.Folder, path)
	}
	if err := e.lend(func() error { return e.journal.paths(names) }); err != nil {
		return fmt.Errorf("write the journal: %w", err)
	}
	return nil
}

// book notes the entry of a render whose files are in their places. Where the
// journal cannot be written the ledger will have it, unless the run is killed.
func (e *engine) book(r *release.Render, t *ledger.Track) {
	_ = e.journal.entry(t, e.seen.certain(r.Source, r.Output, r.Removed(), r.Matched()))
}
