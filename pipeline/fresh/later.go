package fresh

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
)

// ledgerStamp is the stamp of the ledger that is in the folder; zero: there is none.
func (p *Past) ledgerStamp() stamp {
	info, err := os.Stat(filepath.Join(p.Folder, ledger.FileName))
	if err != nil {
		return stamp{}
	}
	return stampOf(info)
}

// Later are the entries that the ledger in the folder has now and had not when the run began: another run has
// written it meanwhile, where a lock is not seen by all. Their records along the tracks are in Along
// afterwards.
func (p *Past) Later() ([]*ledger.Track, error) {
	if !p.Moved() {
		return nil, nil
	}
	path := filepath.Join(p.Folder, ledger.FileName)
	now, err := ledger.Read(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("reading the ledger again, which was written meanwhile: %w", err)
	}
	lines, err := along.Read(along.Beside(path))
	if err != nil {
		return nil, fmt.Errorf("reading the record along the tracks again: %w", err)
	}
	for _, line := range lines {
		p.Along.Add(line)
	}
	had := map[key]*ledger.Track{}
	if p.Ledger != nil {
		for i := range p.Ledger.Tracks {
			had[keyOf(&p.Ledger.Tracks[i])] = &p.Ledger.Tracks[i]
		}
	}
	var later []*ledger.Track
	for i := range now.Tracks {
		t := &now.Tracks[i]
		if old := had[keyOf(t)]; old == nil || !reflect.DeepEqual(old, t) {
			later = append(later, t)
		}
	}
	return later, nil
}
