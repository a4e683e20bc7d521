package pipeline

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages/stagetest/long"
)

func sumsDesk(t testing.TB) *desk {
	d := calmDesk(t)
	d.write("release.toml",
		quickChain+"[[delivery]]\nname = \"disc\"\nencoding = \"pcm16\"\nsums = \"sha256\"\n")
	return d
}

// sha256sum of GNU coreutils says whether sums are right, and whether it can read them.
func TestSumsAreWhatSha256sumChecks(t *testing.T) {
	if _, err := exec.LookPath("sha256sum"); err != nil {
		t.Skip("sha256sum is not there")
	}
	d := sumsDesk(t)
	d.mix(`mixes/04 back\slash.wav`, stereo(3000), tone(4))
	d.render(Options{})
	check := func() (string, error) {
		c := exec.Command("sha256sum", "--check", "--strict", ledger.SumsName)
		c.Dir = d.path("masters/disc")
		out, err := c.CombinedOutput()
		return string(out), err
	}
	if out, err := check(); err != nil || strings.Count(out, ": OK") != 4 {
		t.Fatalf("%v\n%s", err, out)
	}
	d.flip("masters/disc/02 breakwater.wav")
	if out, err := check(); err == nil || !strings.Contains(out, "02 breakwater.wav: FAILED") {
		t.Errorf("an altered file: %v\n%s", err, out)
	}
}

// Sums follow the files: they are written again where they are missing or say something else, and leave with
// the delivery. Where a foreign file is in their way it stays.
func TestSumsComeAndGo(t *testing.T) {
	d := sumsDesk(t)
	out := d.render(Options{})
	first := d.read("masters/disc/" + ledger.SumsName)
	if first != out.Ledger.Sums("disc") || strings.Count(first, "\n") != 3 {
		t.Fatalf("sums:\n%s", first)
	}
	d.edit("gain_db = 4.0", "gain_db = 3.0")
	out = d.render(Options{Tracks: []string{"01 quay"}})
	second := d.read("masters/disc/" + ledger.SumsName)
	if second == first || second != out.Ledger.Sums("disc") {
		t.Errorf("sums after one track was rendered:\n%s", second)
	}
	d.must(os.Remove(d.path("masters/disc/" + ledger.SumsName)))
	d.render(Options{Tracks: []string{"01 quay"}})
	if d.read("masters/disc/"+ledger.SumsName) != second {
		t.Error("sums that were missing are not what they were")
	}
	d.edit("sums = \"sha256\"\n", "")
	if left := d.render(Options{}).Left; left.Files != 1 {
		t.Errorf("left over: %v, want the file of sums", left)
	}
	d = sumsDesk(t)
	d.write("masters/disc/"+ledger.SumsName, "somebody else's")
	out = d.render(Options{})
	if err := errors.Join(out.Errors()...); len(out.Unwritten) != 1 || err == nil ||
		!strings.Contains(err.Error(), "is in the way") {
		t.Errorf("a foreign file: %v", err)
	}
	if d.read("masters/disc/"+ledger.SumsName) != "somebody else's" {
		t.Error("a foreign file was replaced")
	}
}

// Where the order, the gaps or the title change and no audio does, the sheets are written again and nothing
// is rendered. A forecast says so before, and why.
func TestSheetsAreWrittenWithoutARender(t *testing.T) {
	long.Only(t, "the program's script of sheets writes them again")
	d := sumsDesk(t)
	d.edit("sums = \"sha256\"\n", "sums = \"sha256\"\nsheet = true\ncue = true\n")
	d.render(Options{})
	papers := func() (text string) {
		for _, name := range ledger.Papers {
			text += d.read("masters/disc/" + name)
		}
		return text
	}
	forecast := func() string {
		out, err := Forecast(context.Background(), d.load(), Options{Tool: "ledgerline test"})
		d.must(err)
		stale := map[string][]string{}
		for _, p := range out.Papers {
			stale[p.Why] = append(stale[p.Why], p.File)
		}
		var all []string
		for _, why := range slices.Sorted(maps.Keys(stale)) {
			if why != "" {
				all = append(all, strings.Join(stale[why], " ")+": "+why)
			}
		}
		return strings.Join(all, "; ")
	}
	if got := forecast(); got != "" {
		t.Errorf("up to date: %s", got)
	}
	for _, c := range []struct{ old, new, files, why string }{
		{
			`title        = "Night Ferry"`, "order = [\"03 lantern\", \"01 quay\", \"02 breakwater\"]\n" +
				"title = \"Night Ferry\"", "sheet.csv sheet.cue sheet.txt",
			"order [01 quay, 02 breakwater, 03 lantern] -> [03 lantern, 01 quay, 02 breakwater]",
		},
		{
			`title = "Night`, "gaps_s = [2, 0.52]\ntitle = \"Night", "sheet.csv sheet.cue sheet.txt",
			"gaps_s none -> [2, 0.52]",
		},
		{`title = "Night`, `title = "Day`, "sheet.cue sheet.txt", `title "Night Ferry" -> "Day Ferry"`},
	} {
		before := papers()
		d.edit(c.old, c.new)
		names := strings.Fields(c.files)
		if got, want := forecast(), "disc/"+strings.Join(names, " disc/")+": "+c.why; got != want {
			t.Errorf("forecast: %s\nwant %s", got, want)
		}
		out := d.render(Options{})
		for _, r := range out.Results {
			if r.State != Kept {
				t.Errorf("%s: %s is %s", c.why, r.Label(), r.State)
			}
		}
		if want := fmt.Sprintf(`delivery "disc": %s are written again: %s`, strings.Join(names, ", "),
			c.why); !slices.Contains(out.Notes, want) {
			t.Errorf("notes %q, want %s", out.Notes, want)
		}
		if papers() == before || forecast() != "" {
			t.Errorf("%s: the papers are what they were, or not up to date: %s", c.why, forecast())
		}
		for _, name := range ledger.Papers {
			if d.read("masters/disc/"+name) != out.Ledger.Paper(name, "disc") {
				t.Errorf("%s: %s does not say what the ledger has", c.why, name)
			}
		}
	}
	d.flip("masters/disc/sheet.txt")
	d.must(os.Remove(d.path("masters/disc/sheet.cue")))
	if got, want := forecast(), "disc/sheet.txt: altered; disc/sheet.cue: missing"; got != want {
		t.Errorf("forecast: %s, want %s", got, want)
	}
	notes := d.render(Options{}).Notes
	for _, want := range []string{
		`delivery "disc": sheet.cue was missing and is written`, `delivery "disc": sheet.txt is written again: altered`,
	} {
		if !slices.Contains(notes, want) {
			t.Errorf("notes %q, want %s", notes, want)
		}
	}
	d.edit("gain_db = 4.0", "gain_db = 3.0")
	const all = "disc/SHA256SUMS disc/sheet.csv disc/sheet.cue disc/sheet.txt"
	if got, want := forecast(), all+": files of the delivery are stale"; got != want {
		t.Errorf("forecast: %s, want %s", got, want)
	}
	if notes := d.render(Options{}).Notes; len(notes) > 0 {
		t.Errorf("papers of files that were rendered are told of: %q", notes)
	}
	d.edit("sheet = true\ncue = true\n", "")
	if left := d.render(Options{}).Left; left.Files != 3 {
		t.Errorf("left over: %v, want the sheets", left)
	}
	for _, line := range d.tidy(true) {
		if !strings.Contains(line, "deleted") {
			t.Errorf("tidy: %s", line)
		}
	}
}

// A foreign file is told of before anything is rendered.
func TestAForecastTellsOfAPaperInTheWay(t *testing.T) {
	d := sumsDesk(t)
	d.write("masters/disc/"+ledger.SumsName, "somebody else's")
	out, err := Forecast(context.Background(), d.load(), Options{})
	d.must(err)
	var foreign *ForeignError
	if len(out.Papers) != 1 || !errors.As(out.Papers[0].Err, &foreign) {
		t.Errorf("papers: %+v", out.Papers)
	}
}

// Without a ledger nothing says that a text under the name of a paper is ours but its content.
func TestAForeignPaperIsKeptWithoutALedger(t *testing.T) {
	d := sumsDesk(t)
	d.edit("sums = \"sha256\"", "sums = \"sha256\"\nsheet = true\ncue = true")
	first := d.render(Options{})
	d.must(os.Remove(d.path("masters/" + ledger.FileName)))
	names := []string{ledger.SheetName, ledger.CueName}
	for _, name := range names {
		d.write("masters/disc/"+name, "somebody else's")
	}
	foreseen, err := Forecast(context.Background(), d.load(), Options{})
	d.must(err)
	out, again := d.render(Options{}), d.render(Options{})
	for _, papers := range [][]Paper{foreseen.Papers, out.Unwritten, again.Unwritten} {
		inTheWay := 0
		for _, p := range papers {
			var foreign *ForeignError
			if errors.As(p.Err, &foreign) {
				inTheWay++
			}
		}
		if inTheWay != len(names) {
			t.Errorf("%d of the papers are in the way, want %d: %+v", inTheWay, len(names), papers)
		}
	}
	for _, name := range names {
		if got := d.read("masters/disc/" + name); got != "somebody else's" {
			t.Errorf("%s was replaced: %s", name, got)
		}
	}
	d.must(os.Remove(d.path("masters/" + ledger.FileName)))
	out = d.render(Options{Replace: true})
	note := `delivery "disc": replaces sheet.cue, sheet.txt, which this release did not write`
	if !slices.Contains(out.Notes, note) {
		t.Errorf("notes %q, want %s among them", out.Notes, note)
	}
	for _, name := range names {
		want := first.Ledger.Paper(name, "disc")
		if got := d.read("masters/disc/" + name); got != want || len(out.Unwritten) > 0 {
			t.Errorf("%s was not replaced: %s, %+v", name, got, out.Unwritten)
		}
	}
}

// Without the state file a paper that says what the ledger says is ours.
func TestAPaperIsKnownByTheLedger(t *testing.T) {
	d := sumsDesk(t)
	d.edit("sums = \"sha256\"", "sheet = true")
	d.render(Options{})
	d.must(os.Remove(d.path("masters/" + fresh.StateName)))
	d.edit(`title        = "Night`, `title        = "Day`)
	out := d.render(Options{})
	got := d.read("masters/disc/" + ledger.SheetName)
	if !strings.HasPrefix(got, "Day Ferry") || len(out.Unwritten) > 0 {
		t.Errorf("%+v, the sheet is\n%s", out.Unwritten, got)
	}
}

// A ledger of a version that named no papers has them named by the next run, which renders nothing for that:
// also where the ledger is kept in brief.
func TestARunNamesThePapersOfAnEarlierLedger(t *testing.T) {
	long.Only(t, "TestAPaperIsKnownByTheLedger has papers and ledgers")
	for _, from := range []int{leastBrief, 1} {
		d := sumsDesk(t)
		had := leastBrief
		leastBrief = from
		t.Cleanup(func() { leastBrief = had })
		d.render(Options{})
		want := d.read("masters/" + ledger.FileName)
		d.render(Options{}) // with what is known in brief
		named := "  \"papers\": [\n    \"disc/SHA256SUMS\"\n  ],\n"
		if !strings.Contains(want, named) {
			t.Fatalf("the ledger names no papers:\n%.1000s", want)
		}
		d.write("masters/"+ledger.FileName, strings.Replace(want, named, "", 1))
		out := d.render(Options{})
		for _, r := range out.Results {
			if r.State != Kept {
				t.Errorf("brief from %d: %s is %s: %s", from, r.Label(), r.State, r.Why)
			}
		}
		if got := d.read("masters/" + ledger.FileName); got != want {
			t.Errorf("brief from %d: the ledger is not what it was:\n%.1000s", from, got)
		}
	}
}
