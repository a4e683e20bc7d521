package pipeline

import (
	"fmt"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

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
		names[i] = fresh.Relative(e.release.Output.Folder, path)
	}
	if err := e.crew.Lend(func() error { return e.journal.Paths(names) }); err != nil {
		return fmt.Errorf("write the journal: %w", err)
	}
	return nil
}

// book notes the entry of a render whose files are in their places, and the line of its record along the
// track. Where the journal cannot be written the ledger will have it, unless the run is killed. A part has no
// ledger, and fails in the end.
func (e *engine) book(r *release.Render, t *ledger.Track, along []byte) {
	err := e.journal.Entry(t, along, e.past.Seen.Certain(r.Source, r.Output, r.Removed(), r.Matched()))
	if err != nil {
		e.unbooked.CompareAndSwap(nil, &err)
	}
}
