package pipeline

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// stateAndWhy are the state and reason of each of the outcome's results.
func stateAndWhy(out *Outcome) string {
	var s []string
	for _, r := range out.Results {
		if r.State != Kept {
			s = append(s, string(r.State)+" "+r.Label()+": "+r.Why)
		}
	}
	return strings.Join(s, "; ")
}

func TestOnlyWhatChangedIsRendered(t *testing.T) {
	all := func(why string) string {
		return "rendered 01 quay: " + why + "; rendered 02 breakwater: " + why + "; rendered 03 lantern: " + why
	}
	// A quick run has others of their kinds.
	others := []string{"a comment", "a setting", "an output deleted", "the state broken", "a mix moved",
		"a file under a new master's name", "a setting, and an output altered"}
	base := calmDesk(t)
	base.render(Options{})
	for _, c := range []struct {
		name string
		do   func(*desk)
		o    Options
		want string // what was not kept, and why
	}{
		{"nothing", func(*desk) {}, Options{}, ""},
		{"force", func(*desk) {}, Options{Force: true}, all("forced")},
		{"a comment", func(d *desk) { d.edit("[output]", "# here\n[output]") }, Options{}, ""},
		{"a title", func(d *desk) { d.edit("Night Ferry", "Night Ferry EP") }, Options{}, ""},
		{"a setting", func(d *desk) { d.edit("gain_db = 4.0", "gain_db = 5.5") }, Options{},
			all("drive.gain_db 4 -> 5.5")},
		{"a setting of one track", func(d *desk) {
			d.write("release.toml", quickChain+"\n[track.\"02 breakwater\"]\ndrive.gain_db = 3.0\n")
		},
			Options{}, "rendered 02 breakwater: drive.gain_db 4 -> 3"},
		{"a stage skipped", func(d *desk) {
			d.write("release.toml", quickChain+"\n[track.\"01 quay\"]\nskip = [\"clip\"]\n")
		},
			Options{}, "rendered 01 quay: stages [drive (gain), clip (hard_clip), delivery (measure)] -> [drive " +
				"(gain), delivery (measure)]"},
		{"the encoding", func(d *desk) { d.edit("pcm24", "float32") }, Options{}, all("encoding pcm24 -> float32")},
		{"the ceiling", func(d *desk) { d.edit("ceiling_dbfs = -1.0", "ceiling_dbfs = -1.5") }, Options{},
			all("the release's ceiling_dbfs -1 -> -1.5")},
		{
			"a mix", func(d *desk) { d.flip("mixes/03 lantern.wav") }, Options{},
			"rendered 03 lantern: the mix changed",
		},
		{"a touched mix", func(d *desk) {
			now := time.Now()
			d.must(os.Chtimes(d.path("mixes/03 lantern.wav"), now, now))
		}, Options{}, ""},
		{"a mix moved", func(d *desk) {
			d.must(os.MkdirAll(d.path("other"), 0o777))
			d.must(os.Rename(d.path("mixes/03 lantern.wav"), d.path("other/03 lantern.wav")))
			d.edit(`["mixes/*.wav"]`, `["mixes/*.wav", "other/*.wav"]`)
		}, Options{}, `rendered 03 lantern: the mix was "mixes/03 lantern.wav"`},
		{"a new mix", func(d *desk) { d.mix("mixes/04 harbour.wav", stereo(500), tone(4)) }, Options{},
			"rendered 04 harbour: not in the ledger yet"},
		{
			"an output altered", func(d *desk) { d.flip("masters/01 quay.wav") }, Options{},
			"rendered 01 quay: 01 quay.wav was altered",
		},
		{"an output deleted", func(d *desk) { d.must(os.Remove(d.path("masters/01 quay.wav"))) }, Options{},
			"rendered 01 quay: 01 quay.wav is missing"},
		{"removed wanted", func(*desk) {}, Options{Removed: true}, all("what was removed is not written yet")},
		{"the state lost", func(d *desk) { _ = os.Remove(d.path("masters/" + fresh.StateName)) }, Options{}, ""},
		{
			"the state broken", func(d *desk) {
				d.write("masters/"+fresh.StateName, `{"schema": 1, "files": {"01 q`)
			}, Options{}, "",
		},
		{"the ledger lost", func(d *desk) { d.must(os.Remove(d.path("masters/" + ledger.FileName))) }, Options{},
			all("not in the ledger yet")}, // the state knows that the masters are ours
		{"a file under a new master's name", func(d *desk) {
			d.mix("mixes/04 harbour.wav", stereo(500), tone(4))
			d.write("masters/04 harbour.wav", "not a master")
		}, Options{Replace: true},
			"rendered 04 harbour: not in the ledger yet; replaces 04 harbour.wav, which this release did not write"},
		{"a setting, and an output altered", func(d *desk) {
			d.write("release.toml",
				quickChain+"\n[track.\"02 breakwater\"]\ndrive.gain_db = 3.0\n[track.\"01 quay\"]\ndrive.gain_db = 2.0\n")
			d.flip("masters/02 breakwater.wav")
			d.must(os.Remove(d.path("masters/01 quay.wav")))
		}, Options{}, "rendered 01 quay: drive.gain_db 4 -> 2; rendered 02 breakwater: drive.gain_db 4 -> 3; " +
			"replaces 02 breakwater.wav, which was altered"},
		{"files in removed/ that are anyone's", func(d *desk) {
			d.write("masters/removed/01 quay.wav", "not ours")
			d.flip("masters/03 lantern.wav")
			d.write("masters/removed/03 lantern.wav", "nor is this")
		}, Options{Removed: true, Replace: true},
			"rendered 01 quay: what was removed is not written yet; replaces removed/01 quay.wav, which this " +
				"release did not write; " +
				"rendered 02 breakwater: what was removed is not written yet; " +
				"rendered 03 lantern: what was removed is not written yet; replaces 03 lantern.wav, which was altered; " +
				"replaces removed/03 lantern.wav, which this release did not write"},
	} {
		if slices.Contains(others, c.name) && !long.Wanted() {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			d := newDesk(t)
			d.must(os.CopyFS(d.folder, os.DirFS(base.folder)))
			c.do(d)
			out := d.render(c.o)
			if got := stateAndWhy(out); got != c.want {
				t.Errorf("not kept: %s\nwant: %s", got, c.want)
			}
			if again := d.render(Options{Removed: c.o.Removed}); stateAndWhy(again) != "" {
				t.Errorf("at once after that: %s", stateAndWhy(again))
			}
			d.sameFromScratch(Options{Removed: c.o.Removed})
		})
	}
}

// A file in removed/ is told of as a master is: once, and only where it is not
// what the ledger records.
func TestAnAlteredFileOfWhatWasRemovedIsToldOf(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{Removed: true})
	d.flip("masters/removed/01 quay.wav")
	d.flip("masters/02 breakwater.wav")
	d.flip("masters/removed/02 breakwater.wav")
	want := "rendered 01 quay: removed/01 quay.wav was altered; " +
		"rendered 02 breakwater: 02 breakwater.wav was altered; replaces removed/02 breakwater.wav, " +
		"which was altered"
	if got := stateAndWhy(d.render(Options{Removed: true})); got != want {
		t.Errorf("not kept: %s\nwant: %s", got, want)
	}
	d.flip("masters/removed/03 lantern.wav")
	d.edit("gain_db = 4.0", "gain_db = 5.5")
	want = "rendered 01 quay: drive.gain_db 4 -> 5.5; rendered 02 breakwater: drive.gain_db 4 -> 5.5; " +
		"rendered 03 lantern: drive.gain_db 4 -> 5.5; replaces removed/03 lantern.wav, which was altered"
	if got := stateAndWhy(d.render(Options{Removed: true})); got != want {
		t.Errorf("not kept: %s\nwant: %s", got, want)
	}
}

// sameFromScratch fails the test unless the output folder has all that a first
// render of what is there now would put there, to the byte.
func (d *desk) sameFromScratch(o Options) {
	d.t.Helper()
	got, want := d.tree("masters"), d.fromScratch(o)
	for name := range got {
		if _, ok := want[name]; !ok && strings.HasSuffix(name, ".wav") {
			delete(got, name) // left over: what a track that is gone was rendered to stays
		}
	}
	sameTree(d.t, "against a render from scratch", got, want)
}

// scratches are the trees of first renders, by a hash of all that they were made of.
var scratches = map[[sha256.Size]byte]map[string]string{}

// fromScratch is what a first render of what is there now puts into the output folder. Renders of the same
// files with the same options are made once, in whichever test comes first.
func (d *desk) fromScratch(o Options) map[string]string {
	d.t.Helper()
	made := d.tree(".")
	maps.DeleteFunc(made, func(name, _ string) bool { return strings.HasPrefix(name, "masters") })
	h := sha256.New()
	fmt.Fprintf(h, "%q %d %+v\n", filepath.Base(d.folder), d.block, o) // a release may be named after its folder
	for _, name := range slices.Sorted(maps.Keys(made)) {
		fmt.Fprintf(h, "%q %d\n%s", name, len(made[name]), made[name])
	}
	key := [sha256.Size]byte(h.Sum(nil))
	if want, ok := scratches[key]; ok {
		return want
	}
	d.must(os.Rename(d.path("masters"), d.path("masters.kept")))
	d.render(o)
	want := d.tree("masters")
	d.must(os.RemoveAll(d.path("masters")))
	d.must(os.Rename(d.path("masters.kept"), d.path("masters")))
	scratches[key] = want
	return want
}

func TestKeepingTouchesNothing(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	infos := func() map[string]os.FileInfo {
		all := map[string]os.FileInfo{}
		for name := range d.tree("masters") {
			info, err := os.Stat(d.path(name))
			d.must(err)
			all[name] = info
		}
		return all
	}
	before := infos()
	time.Sleep(40 * time.Millisecond) // file systems stamp by clocks of 100 Hz or faster
	d.render(Options{})
	for name, s := range infos() {
		if !os.SameFile(before[name], s) || !before[name].ModTime().Equal(s.ModTime()) {
			t.Errorf("%s was written again", name)
		}
	}
}

func TestTracksThatAreGoneLeaveTheLedger(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	d.must(os.Remove(d.path("mixes/02 breakwater.wav")))
	out := d.render(Options{})
	if len(out.Ledger.Tracks) != 2 || out.Ledger.Totals.Tracks != 2 {
		t.Errorf("%d tracks in the ledger, %d in its totals, want 2", len(out.Ledger.Tracks),
			out.Ledger.Totals.Tracks)
	}
	if _, err := os.Stat(d.path("masters/02 breakwater.wav")); err != nil {
		t.Errorf("its output should stay: %v", err)
	}
}

func TestALedgerThatCannotBeReadIsNotReplacedUnasked(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	for _, text := range []string{"<<<<<<< HEAD\n", `{"schema": 99}`} {
		d.write("masters/"+ledger.FileName, text)
		if _, err := d.try(t.Context(), Options{}); err == nil || !strings.Contains(err.Error(), "--force") {
			t.Errorf("%q: %v, want an error that says what replaces it", text, err)
		}
		if got := d.tree("masters")["masters/"+ledger.FileName]; got != text {
			t.Errorf("%q became %q", text, got)
		}
		if got := states(d.render(Options{Force: true})); strings.Count(got, "rendered") != 3 {
			t.Errorf("forced: %s", got)
		}
	}
}

func TestStandingForesees(t *testing.T) {
	d := calmDesk(t)
	foresee := func() string {
		r, err := release.Load(d.path("release.toml"))
		d.must(err)
		out, err := Forecast(t.Context(), r, Options{})
		d.must(err)
		return stateAndWhy(out)
	}
	for _, do := range []func(){
		func() {},
		func() { d.edit("gain_db = 4.0", "gain_db = 5.5") },
		func() { d.flip("mixes/02 breakwater.wav") },
		func() { d.must(os.Remove(d.path("masters/01 quay.wav"))) },
	} {
		do()
		before := d.tree(".")
		foreseen := foresee()
		sameTree(t, "looking", d.tree("."), before)
		got := strings.ReplaceAll(stateAndWhy(d.render(Options{})), "rendered ", "stale ")
		if got != foreseen || got == "" {
			t.Errorf("foreseen: %s\ndone:     %s", foreseen, got)
		}
	}
	if got := foresee(); got != "" {
		t.Errorf("after all was rendered: %s", got)
	}
}
