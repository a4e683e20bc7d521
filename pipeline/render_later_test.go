package pipeline

import (
	"errors"
	"os"
	"strings"
	"syscall"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/track"
	"ledgerline/stages/stagetest/long"
)

// Two runs in one folder whose locks do not see each other, each of other tracks: the one that ends last
// keeps what the other has written, and the ledger is that of one run from scratch.
func TestALedgerThatAnotherRunWrote(t *testing.T) {
	d := partsDesk(t)
	if !long.Wanted() {
		d.edit("[output]", "[output]\npage = false") // TestPartsAreGathered has it
	}
	d.render(Options{Tracks: []string{"t00"}})
	r := d.load()
	other, done := onDisk, false
	free := func(*os.File, bool) error { return nil }
	other.lock = free
	mine := onDisk
	mine.lock = free
	mine.create = func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
		if !done {
			done = true
			_, err := renderWith(t.Context(), r, Options{Tracks: []string{"t05", "t06"}, Tool: "ledgerline test"},
				other, 4096)
			d.must(err)
		}
		return onDisk.create(path, info, beside)
	}
	out, err := renderWith(t.Context(), r, Options{Tracks: []string{"t07"}, Jobs: 1, Tool: "ledgerline test"},
		mine, 4096)
	d.must(err)
	if notes := strings.Join(out.Notes, "\n"); !strings.Contains(notes,
		"another run wrote the ledger meanwhile; its entries are kept (6)") {
		t.Errorf("notes: %q", notes)
	}
	again := d.render(Options{})
	for _, res := range again.Results {
		done := res.Track == "t00" || res.Track == "t05" || res.Track == "t06" || res.Track == "t07"
		if done != (res.State == Kept) {
			t.Errorf("%s: %s, %s", res.Label(), res.State, res.Why)
		}
	}
	d.sameFromScratch(Options{})
}

// Where the ledger that another run wrote meanwhile cannot be read, the run fails, and tells what it has
// rendered all the same.
func TestALedgerThatCannotBeReadAgain(t *testing.T) {
	d := journalsDesk(t)
	mine := onDisk
	mine.create = func(path string, info audiofile.Info, beside audiofile.Beside) (track.Sink, error) {
		d.must(os.MkdirAll(d.path("masters/ledger.json"), 0o777)) // a folder
		return onDisk.create(path, info, beside)
	}
	out, err := renderWith(t.Context(), d.load(), Options{Tracks: []string{"t05"}}, mine, 4096)
	if !errors.Is(err, syscall.EISDIR) {
		t.Errorf("error %v, want that it is a folder", err)
	}
	if judged := out.Judged(); judged.Totals.Tracks != 1 || out.Failed() > 0 {
		t.Errorf("%+v, %d failed", judged.Totals, out.Failed())
	}
	d.must(os.Remove(d.path("masters/ledger.json")))
	if got := states(d.render(Options{Tracks: []string{"t05"}})); strings.Contains(got, "rendered") {
		t.Errorf("the next run: %s", got)
	}
}
