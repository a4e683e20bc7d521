package pipeline

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// killed leaves of a render what there is when a run is killed after so many
// lines of its journal: the files that are in their places by then, and nothing
// in the ledger or the state.
func (d *desk) killed(o Options, lines int) {
	d.t.Helper()
	n := 0
	o.Jobs = 1
	o.Progress = func(e Event) {
		if e.Step != Noted {
			return
		}
		if n++; n == lines {
			d.must(os.Rename(d.path("masters"), d.path("masters.dead"))) // nothing reaches it from here on
		}
	}
	_, _ = d.try(d.t.(*testing.T).Context(), o)
	if _, err := os.Stat(d.path("masters.dead")); err != nil {
		d.t.Fatalf("it had only %d lines", n)
	}
	d.must(os.RemoveAll(d.path("masters")))
	d.must(os.Rename(d.path("masters.dead"), d.path("masters")))
	d.orphan()
	journal := "masters/" + fresh.JournalName // it was open, and went on
	d.must(os.WriteFile(d.path(journal),
		[]byte(strings.Join(strings.SplitAfter(d.read(journal), "\n")[:lines], "")), 0o666))
}

// orphan gives the temporary files of this process to one that is gone: those of a process that lives are
// left alone.
func (d *desk) orphan() {
	d.must(filepath.WalkDir(d.path("."), func(path string, _ os.DirEntry, err error) error {
		if name := filepath.Base(path); err == nil && strings.HasSuffix(name, ".part") {
			err = os.Rename(path, filepath.Join(filepath.Dir(path),
				strings.Replace(name, fmt.Sprintf("-%d-", os.Getpid()), "-999999999-", 1)))
		}
		return err
	}))
}

// finished counts the renders that a journal has entries of.
func (d *desk) finished() int {
	d.t.Helper()
	text, err := os.ReadFile(d.path("masters/" + fresh.JournalName))
	d.must(err)
	all := map[renderKey]bool{}
	for line := range bytes.Lines(text) {
		var l struct{ Track *ledger.Track }
		if json.Unmarshal(line, &l) == nil && l.Track != nil {
			all[renderKey{l.Track.Name, l.Track.Variant, l.Track.Delivery}] = true
		}
	}
	return len(all)
}

// After a kill at any line of the journal the next run renders what is missing
// and nothing else, takes nothing for foreign, and ends with the ledger of a
// render from scratch.
func TestAKilledRunKeepsWhatItFinished(t *testing.T) {
	const most = 2 * 2 * 9 // two lines of each master and of each matched copy
	for _, lines := range long.Or([]int{4, 27}, []int{
		1, 2, 3, 4, 9, 17, 18, 19, 20, 27, most - 1, most,
	}) {
		d := matchedDesk(t)
		o := Options{Removed: true}
		d.killed(o, lines)
		want := d.finished()
		r, err := release.Load(d.path("release.toml"))
		d.must(err)
		foreseen, err := Forecast(t.Context(), r, o)
		d.must(err)
		out := d.render(o)
		kept := strings.Count(states(out), "kept")
		if kept != want || lines >= most/2 && want != 9 || lines == 4 && want == 0 {
			t.Errorf("killed after line %d: %d kept, want %d: %s", lines, kept, want, stateAndWhy(out))
		}
		for i, r := range out.Results {
			if (foreseen.Results[i].State == Kept) != (r.State == Kept) {
				t.Errorf("killed after line %d: %s is %s, foreseen: %s", lines, r.Label(), r.State,
					foreseen.Results[i].State)
			}
		}
		if strings.Contains(stateAndWhy(out), "replaces") {
			t.Errorf("killed after line %d: %s", lines, stateAndWhy(out))
		}
		d.noLitter()
		d.sameFromScratch(o)
	}
}

// A process that is killed when five of twelve masters are done costs the other
// seven, and those that were under way.
func TestARealKillKeepsWhatWasFinished(t *testing.T) {
	long.Only(t, "TestAKilledRunKeepsWhatItFinished has a kill at any line of the journal")
	d := newDesk(t)
	d.write("release.toml", quickChain)
	for n := range 12 {
		d.mix(fmt.Sprintf("mixes/t%02d.wav", n), brief(3000), calm(tone(n), 3000))
	}
	t.Setenv(killAtLine, "12")
	cmd := foldertest.OtherProcess(t, "LEDGERLINE_TEST_RENDER="+d.path("release.toml"))
	if err := cmd.Wait(); err == nil {
		t.Fatal("it was not killed")
	}
	want := d.finished()
	if want < 4 || want > 6 {
		t.Fatalf("%d finished of twelve lines", want)
	}
	out := d.render(Options{})
	if got := strings.Count(states(out), "kept"); got != want || strings.Contains(stateAndWhy(out), "replaces") {
		t.Errorf("%d kept, want %d: %s", got, want, stateAndWhy(out))
	}
	d.noLitter()
	d.sameFromScratch(Options{})
}

// What a journal has is judged as what a ledger has.
func TestAJournalIsJudgedAsALedger(t *testing.T) {
	long.Only(t, "TestAKilledRunKeepsWhatItFinished goes on from journals")
	for name, c := range map[string]struct {
		do   func(*desk)
		want string
	}{
		"nothing": {func(*desk) {}, "rendered 03 lantern: not in the ledger yet"},
		"another setting": {
			func(d *desk) {
				d.edit("gain_db = 4.0", "gain_db = 5.5")
			}, "rendered 01 quay: drive.gain_db 4 -> 5.5; rendered 02 breakwater: drive.gain_db 4 -> 5.5; rendered " +
				"03 lantern: not in the ledger yet",
		},
		"a master": {
			func(d *desk) {
				d.flip("masters/02 breakwater.wav")
			}, "rendered 02 breakwater: 02 breakwater.wav was altered; rendered 03 lantern: not in the ledger yet",
		},
		"a mix": {
			func(d *desk) {
				d.flip("mixes/01 quay.wav")
			}, "rendered 01 quay: the mix changed; rendered 03 lantern: not in the ledger yet",
		},
	} {
		d := calmDesk(t)
		d.killed(Options{}, 4)
		time.Sleep(40 * time.Millisecond)
		c.do(d)
		if got := stateAndWhy(d.render(Options{})); got != c.want {
			t.Errorf("%s: %s\nwant %s", name, got, c.want)
		}
		d.sameFromScratch(Options{})
	}
}

// A journal that cannot be read to its end loses nobody a file: what was not read
// is in the way until somebody decides, and the journal is kept.
func TestAJournalThatIsBroken(t *testing.T) {
	d := calmDesk(t)
	d.killed(Options{}, 4)
	name := "masters/" + fresh.JournalName
	lines := strings.SplitAfter(d.tree("masters")[name], "\n")
	broken := lines[0] + lines[1] + "{\n" + lines[2] + lines[3]
	d.write(name, broken)
	before := d.tree("masters")["masters/02 breakwater.wav"]
	out, err := d.try(t.Context(), Options{})
	d.must(err)
	if got := states(out); got != "01 quay kept, 02 breakwater failed, 03 lantern rendered" {
		t.Errorf("states: %s", got)
	}
	if notes := strings.Join(out.Notes, "\n"); !strings.Contains(notes, fresh.JournalName) ||
		!strings.Contains(notes, "line 3") {
		t.Errorf("notes: %s", notes)
	}
	after := d.tree("masters")
	if after["masters/02 breakwater.wav"] != before ||
		after["masters/"+".ledgerline-journal-unread.jsonl"] != broken || after[name] != "" {
		t.Error("something is lost, or the journal is still there")
	}
	d.render(Options{Replace: true})
	d.must(os.Remove(d.path("masters/" + ".ledgerline-journal-unread.jsonl")))
	d.sameFromScratch(Options{})
}

// What killed processes left half written goes, in every folder, whether or not
// there is anything to render.
func TestSweptInEveryFolder(t *testing.T) {
	long.Only(t, "TestWhatAKilledRunLeftIsRemoved sweeps a folder")
	d := matchedDesk(t)
	d.render(Options{Removed: true})
	d.edit("[variant.loud]", "[variant.louder]")
	d.render(Options{Removed: true})
	for _, folder := range []string{
		"", "removed/", "matched/", "quiet/", "quiet/removed/", "louder/matched/", "loud/", "loud/removed/",
	} {
		d.write("masters/"+folder+".ledgerline-0123456789abcdef.part", "half")
	}
	if got := states(d.render(Options{Removed: true})); strings.Contains(got, "rendered") {
		t.Errorf("states: %s", got)
	}
	d.noLitter()
}
