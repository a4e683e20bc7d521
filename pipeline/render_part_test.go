package pipeline

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/fresh"
	"ledgerline/stages/stagetest/long"
)

// partsDesk has ten short mixes, of which three run into each other, in a variant and a delivery, too.
func partsDesk(t *testing.T) *desk {
	d := newDesk(t)
	chain := strings.Replace(pagedChain, `encoding = "pcm24"`, "encoding = \"pcm24\"\nmatch_loudness = true", 1)
	d.write("release.toml", "continuous = [[\"t02\", \"t03\", \"t04\"]]\n"+chain+`
[variant.quiet]
drive.gain_db = -3.0

[[delivery]]
name     = "disc"
encoding = "pcm16"
sums     = "sha256"
`)
	for n := range 10 {
		d.mix(fmt.Sprintf("mixes/t%02d.wav", n), brief(3000), long.Or(calm(tone(n), 3000), tone(n)))
	}
	return d
}

// journalsDesk is the same without what takes long and is no matter of journals: in a quick run without the
// variant and its matched copies, and with fewer mixes.
func journalsDesk(t *testing.T) *desk {
	d := partsDesk(t)
	d.edit("[output]", "[output]\npage = false")
	if !long.Wanted() {
		d.edit("match_loudness = true\n", "")
		d.edit("[variant.quiet]\ndrive.gain_db = -3.0\n", "")
		for n := 6; n < 10; n++ {
			d.must(os.Remove(d.path(fmt.Sprintf("mixes/t%02d.wav", n))))
		}
	}
	return d
}

// startPart starts a process that renders a part.
func (d *desk) startPart(p fresh.Part, killAt int) *exec.Cmd {
	d.t.Helper()
	t := d.t.(*testing.T)
	t.Setenv(partOfIt, p.String())
	t.Setenv(removedToo, "yes")
	t.Setenv(killAtLine, "")
	if killAt > 0 {
		t.Setenv(killAtLine, fmt.Sprint(killAt))
	}
	return foldertest.OtherProcess(t, "LEDGERLINE_TEST_RENDER="+d.path("release.toml"))
}

// Parts that are rendered at the same time, each by a process of its own, one of which is killed, leave what
// a render of the whole goes on from: it renders what is missing, takes no file for foreign, and ends with
// the bytes of a render from scratch, the ledger, the record along the tracks and the page among them.
// Nothing that is kept is read again.
func TestPartsAreGathered(t *testing.T) {
	d := partsDesk(t)
	const parts, killed = 3, 2
	var all []*exec.Cmd
	for k := 1; k <= parts; k++ {
		at := 0
		if k == killed {
			at = 7
		}
		all = append(all, d.startPart(fresh.Part{K: k, N: parts}, at))
	}
	for k, cmd := range all {
		if err := cmd.Wait(); (err != nil) != (k+1 == killed) {
			t.Errorf("part %d: %v", k+1, err)
		}
	}
	if _, err := os.Stat(d.path("masters/ledger.json")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a part wrote a ledger: %v", err)
	}
	missing := 0
	out := d.render(Options{Removed: true})
	for _, r := range out.Results {
		if r.State == Kept {
			continue
		}
		missing++
		name := r.Track
		if name == "t03" || name == "t04" {
			name = "t02"
		}
		if !(fresh.Part{K: killed, N: parts}).Has(name) ||
			r.Why != "not in the ledger yet" && !strings.HasPrefix(r.Why, "continuous with") {
			t.Errorf("%s is rendered again: %s", r.Label(), r.Why)
		}
	}
	if missing == 0 || missing > 15 {
		t.Errorf("%d renders of 30 were missing", missing)
	}
	d.noLitter()
	for _, name := range foldertest.Names(t, d.path("masters")) {
		if strings.HasPrefix(name, ".") && name != fresh.StateName {
			t.Errorf("%s is left behind", name)
		}
	}
	d.sameFromScratch(Options{Removed: true})
}

// A part is what its tracks are, and groups go by their first track. A part that is rendered again finds its
// own done.
func TestPartsOfARelease(t *testing.T) {
	long.Only(t, "TestPartsAreGathered renders parts")
	d := partsDesk(t)
	if !long.Wanted() {
		d.edit("[output]", "[output]\npage = false") // TestPartsAreGathered has it
	}
	in := map[string]int{}
	for k := 1; k <= 4; k++ {
		p := fresh.Part{K: k, N: 4}
		for n, want := range []State{Rendered, Kept} {
			out := d.render(Options{Part: p})
			if len(out.Ledger.Tracks) != len(out.Results) || out.Left != (Left{}) {
				t.Errorf("part %v: %d entries of %d renders, left over: %v", p, len(out.Ledger.Tracks), len(out.Results),
					out.Left)
			}
			for _, r := range out.Results {
				if r.State != want {
					t.Errorf("part %v, run %d: %s %s", p, n+1, r.Label(), r.State)
				}
				if n == 0 {
					in[r.Track] += k
				}
			}
		}
	}
	if len(in) != 10 || in["t02"] != in["t03"] || in["t02"] != in["t04"] {
		t.Errorf("tracks in parts: %v", in)
	}
	for name, sum := range in {
		if k := sum / 3; name[:2] == "t0" && (sum%3 != 0 || !(fresh.Part{K: k, N: 4}).Has(name)) &&
			name != "t03" && name != "t04" {
			t.Errorf("%s: three renders in part %d", name, k)
		}
	}
	if got := states(d.render(Options{})); strings.Contains(got, "rendered") {
		t.Errorf("the whole: %s", got)
	}
	d.sameFromScratch(Options{})
}

// Another number of parts goes on from what the parts before have done.
func TestAnotherNumberOfParts(t *testing.T) {
	long.Only(t, "the program's script of parts gathers them")
	d := journalsDesk(t)
	d.render(Options{Part: fresh.Part{K: 1, N: 2}})
	d.render(Options{Part: fresh.Part{K: 2, N: 2}})
	for k := 1; k <= 3; k++ {
		if got := states(d.render(Options{Part: fresh.Part{K: k, N: 3}})); strings.Contains(got, "rendered") {
			t.Errorf("part %d: %s", k, got)
		}
	}
	d.edit("gain_db = 4.0", "gain_db = 5.0")
	d.render(Options{Part: fresh.Part{K: 1, N: 3}})
	d.render(Options{})
	d.sameFromScratch(Options{})
}

// Of two parts with journals that have the same track, after its group has changed, the later one is right.
func TestTheLaterJournalCounts(t *testing.T) {
	long.Only(t, "the program's script of parts gathers them")
	d := journalsDesk(t)
	for k := 1; k <= 2; k++ {
		d.render(Options{Part: fresh.Part{K: k, N: 2}})
	}
	d.edit(`continuous = [["t02", "t03", "t04"]]`, `continuous = [["t01", "t02", "t03", "t04"]]`)
	for k := 1; k <= 2; k++ {
		d.render(Options{Part: fresh.Part{K: k, N: 2}})
	}
	if got := states(d.render(Options{})); strings.Contains(got, "rendered") {
		t.Errorf("the whole: %s", got)
	}
	d.sameFromScratch(Options{})
}

// The journal of a part that cannot be read to its end is put aside by that part and by the whole, and by no
// other part.
func TestAPartsJournalThatIsBroken(t *testing.T) {
	d := journalsDesk(t)
	one, two := fresh.Part{K: 1, N: 2}, fresh.Part{K: 2, N: 2}
	d.render(Options{Part: one})
	d.render(Options{Part: two})
	name, aside := "masters/"+fresh.JournalOf(one), "masters/.ledgerline-journal-1-2-unread.jsonl"
	broken := d.read(name) + "{\n"
	d.write(name, broken)
	if out := d.render(Options{Part: two}); d.read(name) != broken ||
		strings.Contains(strings.Join(out.Notes, "\n"), "journal") {
		t.Errorf("another part has touched it, or tells of it: %q", out.Notes)
	}
	out := d.render(Options{})
	if d.read(aside) != broken || !strings.Contains(strings.Join(out.Notes, "\n"), fresh.JournalOf(one)) {
		t.Errorf("it is not put aside, or not told of: %q", out.Notes)
	}
	d.must(os.Remove(d.path(aside)))
	d.sameFromScratch(Options{})
}
