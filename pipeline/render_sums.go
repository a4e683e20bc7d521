package pipeline

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
)

// writeSums writes the sums of the deliveries that ask for them, as the ledger has them, unless they are there.
func (e *engine) writeSums(l *ledger.Ledger) error {
	var failed error
	for path, delivery := range e.sums() {
		if err := e.writeSum(path, l.Sums(delivery)); err != nil {
			failed = errors.Join(failed, fmt.Errorf("the sums of delivery %q: %w", delivery, err))
		}
	}
	return failed
}

// sums are the files of sums that the release asks for, and the deliveries that they are of.
func (e *engine) sums() map[string]string {
	all := map[string]string{}
	for i := range e.release.Renders {
		if r := &e.release.Renders[i]; r.Sums {
			all[filepath.Join(filepath.Dir(r.Output), ledger.SumsName)] = r.Delivery
		}
	}
	return all
}

func (e *engine) writeSum(path, text string) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == text || errors.Is(err, fs.ErrNotExist) && text == "" {
		return nil
	}
	if err := e.inTheWay(path); err != nil {
		return err
	}
	if err := e.journal.Paths([]string{fresh.Relative(e.release.Output.Folder, path)}); err != nil {
		return err
	}
	if err := whole.Write(path, []byte(text)); err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(text))
	e.written.Store(path, hex.EncodeToString(sum[:]))
	return nil
}
