package pipeline

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/trial"
	"ledgerline/pipeline/whole"
)

// writePage draws the ledger as a page beside it, if the release asks for that, and unless what is there is
// of this ledger. What keeps it from being written is a note: the masters and the ledger are not touched by
// it.
func (e *engine) writePage(l *ledger.Ledger) (note string) {
	if !e.release.Output.Page {
		return ""
	}
	path := filepath.Join(e.release.Output.Folder, page.FileName)
	if l == e.past.Ledger && isPage(path) {
		return ""
	}
	old, err := whole.ReadFile(path)
	switch {
	case err == nil && !page.Is(old) && !e.options.Replace:
		return fmt.Sprintf("%s is no page of a ledger, so the page is not written; to replace it: --replace",
			page.FileName)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Sprintf("the page is not written: %v", err)
	}
	text, err := e.drawPage(l)
	if err == nil && !bytes.Equal(text, old) {
		err = whole.Write(path, text)
	}
	if err != nil {
		return fmt.Sprintf("the page is not written: %v", err)
	}
	return ""
}

func (e *engine) drawPage(l *ledger.Ledger) ([]byte, error) {
	records := make([]*along.Record, len(l.Tracks))
	for i := range l.Tracks {
		var err error
		if records[i], err = e.past.Along.Record(l.Tracks[i].Along); err != nil {
			return nil, fmt.Errorf("%s: %w", ledger.Label(l.Tracks[i].Name, l.Tracks[i].Version()), err)
		}
	}
	trials, _ := trial.Read(e.release.Folder) // what cannot be read is told by show
	return page.Make(page.Content{Ledger: l, Records: records, Trials: trials})
}
