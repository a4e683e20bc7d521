package pipeline

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/ledger"
)

// What is written is read, with the settings' types; what follows a torn or a
// broken line is not; and the next run goes on behind what was read.
func TestJournal(t *testing.T) {
	entry := &ledger.Track{
		Name: "01 quay & <pier>", Variant: "loud",
		Chain:      []ledger.StageUsed{{Name: "dither", Kind: "dither", Settings: map[string]any{"bits": int64(24), "density": "none"}}},
		Stages:     []ledger.StageResult{{Stage: "dither", Kind: "dither"}},
		Boundaries: []ledger.Boundary{{Stage: "source"}, {Boundary: 1, Stage: "dither"}},
	}
	good := func(path string) int64 {
		j := openJournal(path, 0, nil)
		for _, err := range []error{
			j.paths([]string{"01 quay.wav", "removed/01 quay.wav"}),
			j.entry(entry, map[string]sight{"01 quay.wav": {stamp{Size: 7}, "abc"}}),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
		j.close()
		return j.size
	}
	for name, c := range map[string]struct{ more, fault string }{
		"whole":            {"", ""},
		"torn":             {`{"schema":1,"kind":"paths","pat`, ""},
		"torn to nothing":  {"\x00\x00\x00\x00", ""},
		"broken":           {"{\"schema\":1,\"kind\n" + `{"schema":1,"kind":"paths","paths":["later"]}` + "\n", "line 3: not a line of a journal"},
		"an empty line":    {"\n", "line 3: not a line of a journal"},
		"a later schema":   {`{"schema":2,"kind":"paths","paths":["x"]}` + "\n", "line 3: a journal of schema 2; this version reads schema 1"},
		"no schema":        {`{"kind":"paths","paths":["x"]}` + "\n", "line 3: a journal of schema 0"},
		"an unknown kind":  {`{"schema":1,"kind":"tea"}` + "\n", `line 3: not a line of a journal: its kind is "tea"`},
		"no paths":         {`{"schema":1,"kind":"paths"}` + "\n", `line 3: not a line of a journal: its kind is "paths"`},
		"a bad entry":      {`{"schema":1,"kind":"entry","track":{"name":"x","chain":[{"name":"y"}]}}` + "\n", "line 3: 0 stages, want as many as in its chain"},
		"a track of words": {`{"schema":1,"kind":"entry","track":"x"}` + "\n", "line 3: not a line of a journal"},
	} {
		path := filepath.Join(t.TempDir(), journalName)
		size := good(path)
		text := foldertest.Text(t, path)
		if err := os.WriteFile(path, []byte(text+c.more), 0o666); err != nil {
			t.Fatal(err)
		}
		got, err := readJournal(path)
		if err != nil || !strings.HasPrefix(got.fault, c.fault) || got.fault != "" && c.fault == "" {
			t.Errorf("%s: fault %q (%v), want %q", name, got.fault, err, c.fault)
		}
		if len(got.lines) != 2 || got.size != size {
			t.Fatalf("%s: %d lines, %d bytes, want 2 and %d", name, len(got.lines), got.size, size)
		}
		if fmt.Sprint(got.lines[0].Paths) != "[01 quay.wav removed/01 quay.wav]" || got.lines[1].Files["01 quay.wav"].SHA256 != "abc" {
			t.Errorf("%s: %+v", name, got.lines)
		}
		var was, is bytes.Buffer
		if ledger.EncodeJSON(&was, entry) != nil || ledger.EncodeJSON(&is, got.lines[1].Track) != nil || was.String() != is.String() {
			t.Errorf("%s: the entry became %s", name, &is)
		}
		if _, ok := got.lines[1].Track.Chain[0].Settings["bits"].(int64); !ok {
			t.Errorf("%s: the settings are %#v", name, got.lines[1].Track.Chain[0].Settings)
		}
		j := openJournal(path, got.size, nil)
		if err := j.paths([]string{"next"}); err != nil {
			t.Fatal(err)
		}
		j.close()
		if got, err := readJournal(path); err != nil || len(got.lines) != 3 || got.fault != "" || got.lines[2].Paths[0] != "next" {
			t.Errorf("%s: gone on: %+v, %v", name, got, err)
		}
	}
}

// Lines of several goroutines do not mix, and a listener gets the same ones.
func TestJournalOfSeveralAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), journalName)
	var told bytes.Buffer
	j := openJournal(path, 0, func(line []byte) { told.Write(line) })
	var g sync.WaitGroup
	for n := range 8 {
		g.Go(func() {
			for k := range 20 {
				if err := j.paths([]string{fmt.Sprint(n, " ", k)}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	g.Wait()
	j.close()
	got, err := readJournal(path)
	if err != nil || got.fault != "" || len(got.lines) != 160 {
		t.Errorf("%d lines, %q, %v", len(got.lines), got.fault, err)
	}
	if told.String() != foldertest.Text(t, path) {
		t.Error("the listener got other lines")
	}
	j.remove()
	if got, err := readJournal(path); err != nil || len(got.lines) != 0 {
		t.Errorf("removed: %+v, %v", got, err)
	}
}

// killed leaves of a render what there is when a run is killed after so many
// lines of its journal: the files that are in their places by then, and nothing
// in the ledger or the state.
func (d *desk) killed(o Options, lines int) {
	d.t.Helper()
	n, size := 0, int64(0)
	o.Jobs = 1
	o.Journal = func(line []byte) {
		if n++; n <= lines {
			size += int64(len(line))
		}
		if n == lines {
			d.must(os.Rename(d.path("masters"), d.path("masters.dead"))) // nothing reaches it from here on
		}
	}
	_, _ = d.try(d.t.(*testing.T).Context(), o)
	if _, err := os.Stat(d.path("masters.dead")); err != nil {
		d.t.Fatalf("it had only %d lines", n)
	}
	d.must(os.RemoveAll(d.path("masters")))
	d.must(os.Rename(d.path("masters.dead"), d.path("masters")))
	d.must(os.Truncate(d.path("masters/"+journalName), size)) // the journal was open, and went on
}

// finished counts the renders that a journal has entries of.
func (d *desk) finished() int {
	d.t.Helper()
	j, err := readJournal(d.path("masters/" + journalName))
	d.must(err)
	all := map[renderKey]bool{}
	for _, l := range j.lines {
		if l.Track != nil {
			all[renderKey{l.Track.Name, l.Track.Variant}] = true
		}
	}
	return len(all)
}

// After a kill at any line of the journal the next run renders what is missing
// and nothing else, takes nothing for foreign, and ends with the ledger of a
// render from scratch.
func TestAKilledRunKeepsWhatItFinished(t *testing.T) {
	const most = 2 * 2 * 9 // two lines of each master and of each matched copy
	for _, lines := range []int{1, 2, 3, 4, 9, 17, 18, 19, 20, 27, most - 1, most} {
		d := matchedDesk(t)
		o := Options{Removed: true}
		d.killed(o, lines)
		want := d.finished()
		r, err := Load(d.path("release.toml"))
		d.must(err)
		foreseen, err := Standing(t.Context(), r, o)
		d.must(err)
		out := d.render(o)
		kept := strings.Count(states(out), "kept")
		if kept != want || lines >= most/2 && want != 9 || lines == 4 && want == 0 {
			t.Errorf("killed after line %d: %d kept, want %d: %s", lines, kept, want, stateAndWhy(out))
		}
		for i, r := range out.Results {
			if (foreseen.Results[i].State == Kept) != (r.State == Kept) {
				t.Errorf("killed after line %d: %s is %s, foreseen: %s", lines, r.Label(), r.State, foreseen.Results[i].State)
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
	d := newDesk(t)
	d.write("release.toml", quickChain)
	for n := range 12 {
		d.mix(fmt.Sprintf("mixes/t%02d.wav", n), stereo(9000), tone(n))
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
	for name, c := range map[string]struct {
		do   func(*desk)
		want string
	}{
		"nothing":         {func(*desk) {}, "rendered 03 lantern: not in the ledger yet"},
		"another setting": {func(d *desk) { d.edit("gain_db = 4.0", "gain_db = 5.5") }, "rendered 01 quay: drive.gain_db 4 -> 5.5; rendered 02 breakwater: drive.gain_db 4 -> 5.5; rendered 03 lantern: not in the ledger yet"},
		"a master":        {func(d *desk) { d.flip("masters/02 breakwater.wav") }, "rendered 02 breakwater: 02 breakwater.wav was altered; rendered 03 lantern: not in the ledger yet"},
		"a mix":           {func(d *desk) { d.flip("mixes/01 quay.wav") }, "rendered 01 quay: the mix changed; rendered 03 lantern: not in the ledger yet"},
	} {
		d := ferryDesk(t)
		d.killed(Options{}, 4)
		time.Sleep(2 * fineTick)
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
	d := ferryDesk(t)
	d.killed(Options{}, 4)
	name := "masters/" + journalName
	lines := strings.SplitAfter(d.tree("masters")[name], "\n")
	broken := lines[0] + lines[1] + "{\n" + lines[2] + lines[3]
	d.write(name, broken)
	before := d.tree("masters")["masters/02 breakwater.wav"]
	out, err := d.try(t.Context(), Options{})
	d.must(err)
	if got := states(out); got != "01 quay kept, 02 breakwater failed, 03 lantern rendered" {
		t.Errorf("states: %s", got)
	}
	if notes := strings.Join(out.Notes, "\n"); !strings.Contains(notes, journalName) || !strings.Contains(notes, "line 3") {
		t.Errorf("notes: %s", notes)
	}
	after := d.tree("masters")
	if after["masters/02 breakwater.wav"] != before || after["masters/"+unreadName] != broken || after[name] != "" {
		t.Error("something is lost, or the journal is still there")
	}
	d.render(Options{Replace: true})
	d.must(os.Remove(d.path("masters/" + unreadName)))
	d.sameFromScratch(Options{})
}

// What killed processes left half written goes, in every folder, whether or not
// there is anything to render.
func TestSweptInEveryFolder(t *testing.T) {
	d := matchedDesk(t)
	d.render(Options{Removed: true})
	d.edit("[variant.loud]", "[variant.louder]")
	d.render(Options{Removed: true})
	for _, folder := range []string{"", "removed/", "matched/", "quiet/", "quiet/removed/", "louder/matched/", "loud/", "loud/removed/"} {
		d.write("masters/"+folder+".ledgerline-0123456789abcdef.part", "half")
	}
	if got := states(d.render(Options{Removed: true})); strings.Contains(got, "rendered") {
		t.Errorf("states: %s", got)
	}
	d.noLitter()
}
