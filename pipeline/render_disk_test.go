package pipeline

import (
	"errors"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"testing"

	"ledgerline/pipeline/fresh"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// A disk that fails at one track, or a mix that is replaced while it is read, costs that track alone: it
// keeps its old master and its old entry, nothing is half written, and the error says whether a repeat may
// cure it. So it is in a part.
func TestADiskThatFailsAtOneTrack(t *testing.T) {
	const bad = "02 breakwater"
	failing := func(errno syscall.Errno) error { return &fs.PathError{Op: "read", Path: bad, Err: errno} }
	for n, part := range []fresh.Part{{}, {K: 1, N: 1}} {
		for name, c := range map[string]struct {
			fault   func(*desk) faulty
			curable bool
			text    string
		}{
			"a mix that cannot be read": {func(*desk) faulty {
				return faulty{track: bad, read: func(stages.Block) error { return failing(syscall.EIO) }}
			}, true, "input/output error"},
			"a stale handle": {func(*desk) faulty {
				return faulty{track: bad, read: func(stages.Block) error { return failing(syscall.ESTALE) }}
			}, true, "stale"},
			"a full disk": {func(*desk) faulty {
				return faulty{track: bad, write: func() error { return failing(syscall.ENOSPC) }}
			}, true, "no space left"},
			"a full disk at the end": {func(*desk) faulty {
				return faulty{track: bad, done: func() error { return failing(syscall.ENOSPC) }}
			}, true, "no space left"},
			"no permission": {func(*desk) faulty {
				return faulty{track: bad, done: func() error { return failing(syscall.EACCES) }}
			}, false, "permission denied"},
			"a mix that is replaced": {func(d *desk) faulty {
				replaced := false
				return faulty{track: bad, read: func(stages.Block) error {
					if !replaced {
						replaced = true
						d.write("new.wav", d.read("mixes/01 quay.wav"))
						d.must(os.Rename(d.path("new.wav"), d.path("mixes/"+bad+".wav")))
					}
					return nil
				}}
			}, false, "was changed while it was being read"},
		} {
			// A quick run renders as a part what fails in reading, and the whole for the rest.
			// What other numbers of errors mean is in TestCurable.
			if !long.Wanted() &&
				(c.text == "stale" || c.text == "permission denied" || strings.HasSuffix(name, "at the end")) {
				continue
			}
			if inPart := c.text == "stale" || c.text == "input/output error"; inPart != (n == 1) && !long.Wanted() {
				continue
			}
			d := calmDesk(t)
			d.render(Options{})
			old := d.tree("masters")
			d.edit("gain_db = 4.0", "gain_db = 4.5")
			good := d.files
			d.files = c.fault(d).files()
			out, err := d.try(t.Context(), Options{Part: part})
			d.must(err)
			if got := states(out); got != "01 quay rendered, 02 breakwater failed, 03 lantern rendered" {
				t.Errorf("%s: %s", name, got)
				continue
			}
			failed := errors.Join(out.Errors()...)
			if Curable(failed) != c.curable || !strings.Contains(failed.Error(), c.text) ||
				!strings.Contains(failed.Error(), bad) {
				t.Errorf("%s: %v, a repeat may cure it: %t", name, failed, Curable(failed))
			}
			if now := d.tree("masters"); now["masters/"+bad+".wav"] != old["masters/"+bad+".wav"] {
				t.Errorf("%s: the old master is lost", name)
			}
			d.files = good
			d.render(Options{})
			d.noLitter()
			d.sameFromScratch(Options{})
		}
	}
}

// Where a part cannot write its journal it has nothing to show for what it rendered, and says so; whoever
// cures the disk repeats it.
func TestAPartWithoutAJournal(t *testing.T) {
	d := calmDesk(t)
	part := fresh.Part{K: 1, N: 1}
	d.must(os.MkdirAll(d.path("masters/"+fresh.JournalOf(part)), 0o777)) // a folder in its place
	_, err := d.try(t.Context(), Options{Part: part})
	if err == nil || !strings.Contains(err.Error(), "journal") {
		t.Errorf("error %v, want that the journal cannot be written", err)
	}
}
