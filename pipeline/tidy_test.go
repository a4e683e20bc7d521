package pipeline

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// tidy is what Tidy lists: "STATE FILE: WHY", in order.
func (d *desk) tidy(remove bool) []string {
	d.t.Helper()
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	files, err := Tidy(d.t.(*testing.T).Context(), r, remove)
	d.must(err)
	var all []string
	for _, f := range files {
		d.must(f.Err)
		info, err := os.Stat(d.path("masters/" + f.File))
		if err == nil && info.Size() != f.Bytes || err == nil == (f.State == Deleted) {
			d.t.Errorf("%s, %d bytes, is %s: %v", f.File, f.Bytes, f.State, err)
		}
		all = append(all, fmt.Sprintf("%s %s: %s", f.State, f.File, f.Why))
	}
	return all
}

// What does not belong to the release any more is counted after each render and
// beforehand, alike, and stays.
func TestWhatIsLeftOverIsCounted(t *testing.T) {
	long.Only(t, "the program's script of tidy counts it")
	d := matchedDesk(t)
	for _, c := range []struct {
		do   string
		edit func()
		o    Options
		want int
	}{
		{"begin", func() {}, Options{Removed: true}, 0},
		{"again", func() {}, Options{Removed: true}, 0},
		{
			"two without removed", func() {}, Options{
				Tracks: []string{"02 breakwater"}, Variants: []string{"", "loud"},
			}, 2,
		},
		{"all without removed", func() {}, Options{}, 9},
		{"once more", func() {}, Options{}, 9},
		{
			"another setting", func() { d.edit("gain_db = 10.0", "gain_db = 11.0") },
			Options{Tracks: []string{"01 quay"}}, 9,
		},
		{"no copies, some files gone", func() {
			d.edit("match_loudness = true", "")
			d.must(os.RemoveAll(d.path("masters/loud/removed")))
		}, Options{}, 15},
		{
			"no variants", func() { d.edit(strings.Replace(matchedChain, "10.0", "11.0", 1), "") },
			Options{Tracks: []string{"03 lantern"}}, 21,
		},
		{"a track is gone", func() { d.must(os.Remove(d.path("mixes/02 breakwater.wav"))) }, Options{}, 22},
		{"the ledger is lost", func() { d.must(os.Remove(d.path("masters/" + ledger.FileName))) }, Options{}, 22},
		{"asked for again", func() { d.edit("[output]", "[output]\nremoved = true") }, Options{}, 20},
	} {
		c.edit()
		out := d.render(c.o)
		var bytes int64
		for _, line := range d.tidy(false) {
			name := strings.TrimPrefix(strings.Split(line, ":")[0], "left over ")
			info, err := os.Stat(d.path("masters/" + name))
			d.must(err)
			bytes += info.Size()
		}
		if out.Left.Files != c.want || out.Left.Bytes != bytes {
			t.Errorf("%s: %+v left over; want %d files, %d bytes", c.do, out.Left, c.want, bytes)
		}
		if said := strings.Contains(strings.Join(out.Notes, "\n"), "left over"); said != (c.want > 0) {
			t.Errorf("%s: notes %q", c.do, out.Notes)
		}
		r, err := release.Load(d.path("release.toml"))
		d.must(err)
		o := c.o
		o.Tracks, o.Variants = nil, nil
		if before, err := Forecast(t.Context(), r, o); err != nil || before.Left != out.Left {
			t.Errorf("%s: beforehand %+v (%v), then %+v", c.do, before.Left, err, out.Left)
		}
	}
}

func TestTidyDeletesWhatIsOursAndNothingElse(t *testing.T) {
	long.Only(t, "the program's script of tidy deletes, TestTidyWithoutRecords and "+
		"TestTidyStaysInItsFolder do, too")
	d := matchedDesk(t)
	d.mix("mixes/04 harbour.wav", stereo(20000), tone(4))
	d.render(Options{Removed: true})
	d.edit("[variant.loud]", "[variant.louder]")
	d.must(os.Remove(d.path("mixes/02 breakwater.wav")))
	d.must(os.Remove(d.path("mixes/04 harbour.wav")))
	d.render(Options{})
	// All 12 of the variant, 6 of each of two tracks in what is left, and 4 in removed/ of the others.
	if got := d.tidy(false); len(got) != 12+12+4 {
		t.Errorf("%d listed:\n%s", len(got), strings.Join(got, "\n"))
	}
	d.flip("masters/loud/01 quay.wav")
	d.flip("masters/04 harbour.wav")
	d.write("masters/loud/removed/mine.wav", "mine")
	d.write("masters/loud/notes.txt", "mine")
	d.write("masters/holiday/beach.wav", "mine")
	d.write("masters/mine.wav", "mine")
	kept := []string{
		"altered 04 harbour.wav: it was altered after it was written",
		"altered loud/01 quay.wav: it was altered after it was written",
		"unknown loud/removed/mine.wav: this release has no record of it",
		"unknown mine.wav: this release has no record of it",
	}
	before := d.tree("masters")
	var listed []string
	for _, line := range d.tidy(false) {
		if file, ok := strings.CutPrefix(line, "left over "); ok {
			listed = append(listed, file)
		} else if !slices.Contains(kept, line) {
			t.Errorf("listed: %s", line)
		}
	}
	sameTree(t, "looking", d.tree("masters"), before)
	for _, want := range []string{
		`02 breakwater.wav: the release has no track "02 breakwater"`,
		`loud/03 lantern.wav: the release has no variant "loud"`,
		"quiet/removed/01 quay.wav: what was removed is not asked for",
	} {
		if !slices.Contains(listed, want) {
			t.Errorf("not listed: %s, but\n%s", want, strings.Join(listed, "\n"))
		}
	}
	want := d.tree("masters")
	for _, line := range listed {
		file, _, _ := strings.Cut(line, ":")
		delete(want, "masters/"+file)
	}
	if got := d.tidy(true); len(got) != len(listed)+len(kept) {
		t.Errorf("%d deleted or kept, want %d", len(got), len(listed)+len(kept))
	}
	sameTree(t, "deleting", d.tree("masters"), want)
	for _, folder := range []string{"masters/removed", "masters/loud/matched", "masters/quiet/removed"} {
		if _, err := os.Stat(d.path(folder)); err == nil {
			t.Errorf("%s is empty, and stays", folder)
		}
	}
	// Later runs know still what was altered. Restored, it is deleted.
	d.render(Options{})
	kept = slices.Delete(kept, 2, 3) // nothing of ours is in that folder any more
	if got := d.tidy(true); !slices.Equal(got, kept) {
		t.Errorf("later: %q", got)
	}
	d.flip("masters/04 harbour.wav")
	if got := d.tidy(true); !slices.Contains(got,
		`deleted 04 harbour.wav: the release has no track "04 harbour"`) {
		t.Errorf("as it was: %q", got)
	}
	if got := states(d.render(Options{})); strings.Contains(got, "rendered") {
		t.Errorf("after that: %s", got)
	}
}

// Without the ledger or the state there is less to tell by, and less is deleted.
func TestTidyWithoutRecords(t *testing.T) {
	for _, c := range []struct {
		lost []string
		want string
	}{
		{nil, `left over 02 breakwater.wav: the release has no track "02 breakwater"`},
		{[]string{ledger.FileName}, `left over 02 breakwater.wav: the release has no track "02 breakwater"`},
		{[]string{fresh.StateName}, "unknown 02 breakwater.wav: this release has no record of it"},
	} {
		d := calmDesk(t)
		d.render(Options{})
		d.must(os.Remove(d.path("mixes/02 breakwater.wav")))
		if got := d.tidy(false); len(got) != 1 || !strings.HasPrefix(got[0], "left over 02 breakwater.wav") {
			t.Errorf("before the ledger forgets it: %q", got)
		}
		d.render(Options{})
		for _, name := range c.lost {
			d.must(os.Remove(d.path("masters/" + name)))
		}
		if got := d.tidy(false); !slices.Contains(got, c.want) {
			t.Errorf("without %q: %q", c.lost, got)
		}
	}
	if got := newDesk(t); true {
		got.write("release.toml", quickChain)
		got.mix("mixes/a.wav", stereo(100), tone(1))
		if files := got.tidy(true); files != nil {
			t.Errorf("of a release that was never rendered: %q", files)
		}
	}
}

// A mix is none of the files that tidy deletes, nor is a file outside the folder,
// whatever the records say of them.
func TestTidyStaysInItsFolder(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	d.must(os.Rename(d.path("masters/02 breakwater.wav"), d.path("elsewhere.wav")))
	d.must(os.Remove(d.path("mixes/02 breakwater.wav")))
	state := d.path("masters/" + fresh.StateName)
	text, err := os.ReadFile(state)
	d.must(err)
	d.must(os.WriteFile(state,
		[]byte(strings.ReplaceAll(string(text), `"02 breakwater.wav"`, `"../elsewhere.wav"`)), 0o666))
	d.must(os.Link(d.path("mixes/01 quay.wav"), d.path("masters/02 breakwater.wav")))
	mixes := d.tree("mixes")
	if got := d.tidy(true); got != nil {
		t.Errorf("listed: %q", got)
	}
	if _, err := os.Stat(d.path("elsewhere.wav")); err != nil {
		t.Error(err)
	}
	sameTree(t, "the mixes", d.tree("mixes"), mixes)
}

func TestTidyWaitsForNobody(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	otherHolder(t, d.path("masters"))
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	if _, err := Tidy(t.Context(), r, true); err == nil || !strings.Contains(err.Error(), "another process") &&
		!strings.Contains(err.Error(), "by process") {
		t.Errorf("deleting while another renders: %v", err)
	}
	d.tidy(false)
}
