package pipeline

import (
	"context"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// inBrief has ledgers of any size kept in brief, until the test ends.
func inBrief(t interface{ Cleanup(func()) }) {
	was := leastBrief
	leastBrief = 1
	t.Cleanup(func() { leastBrief = was })
}

// allTold is all that is printed of an outcome.
func allTold(out *Outcome) map[string]any {
	results := make([]Result, len(out.Results))
	for i, r := range out.Results {
		r.Was, r.Is = nil, nil
		results[i] = r
	}
	var rows, verdict strings.Builder
	b := out.Judged()
	_ = ledger.Printer{Out: &rows}.Rows(b.Rows)
	_ = ledger.Printer{Out: &verdict}.Verdict(b, out.Failed(), nil)
	var failed []string
	for i := range b.Rows {
		failed = append(failed, b.Rows[i].FailedRequirements()...)
	}
	return map[string]any{
		"results": results, "rows": rows.String(), "verdict": verdict.String(), "requirements": failed,
		"totals": b.Totals,
		"notes":  out.Notes, "left": out.Left, "silent": out.Silent(), "driven": out.DrivenFar(),
	}
}

// What a run tells that finds nothing to do is the same whether it has read the ledger or what is kept of
// it in brief, and so is what a forecast tells.
func TestNothingToDoIsToldFromTheLedgerInBrief(t *testing.T) {
	long.Only(t, "TestWhatIsKeptInBriefHidesNothing has a case of nothing to do")
	inBrief(t)
	loud := func(c int, n int64) float64 { return 4 * tone(1)(c, n) }
	for name, c := range map[string]struct {
		release string
		o       Options
		more    func(*desk)
	}{
		"plain": {release: drawnChain},
		"requirements that fail, variants, deliveries": {release: strings.Replace(quickChain,
			"sample_peak_max_dbfs = -1.0", "sample_peak_max_dbfs = -20.0\nloudness_min_lufs = -3.0\n"+
				"true_peak_bs1770_max_dbtp = -6.0", 1) + `
[variant.soft]
drive.gain_db = -3.0

[[delivery]]
name = "disc"
sums = "sha256"
encoding = "pcm16"

[[delivery.stage]]
kind = "dither"
bits = 16
`},
		"no ceiling, no requirement": {
			release: "sources = [\"mixes/*.wav\"]\n[[stage]]\nkind = \"gain\"\ngain_db = 12.0\n",
		},
		"no stage": {release: "sources = [\"mixes/*.wav\"]\n"},
		"removed files, no page": {
			release: strings.Replace(quickChain, "[output]", "[output]\nremoved = true", 1),
		},
		"removed asked for once more": {release: quickChain, o: Options{Removed: true}},
		"heard":                       {release: drawnChain + "\n[audibility]\nmeasure = true\n"},
		"a clip that is driven far":   {release: strings.Replace(quickChain, `"hard_clip"`, `"masked_clip"`, 1)},
		"a silent mix, an empty one, one that is limited": {
			release: "sources = [\"mixes/*.wav\"]\n[output]\nencoding = \"pcm16\"\n" +
				"[[stage]]\nkind = \"gain\"\ngain_db = 20.0\n",
			more: func(d *desk) {
				d.mix("mixes/04 silence.wav", stereo(5000), func(int, int64) float64 { return 0 })
				d.mix("mixes/05 empty.wav", stereo(0), tone(1))
			},
		},
		"samples that are not finite": {release: quickChain, o: Options{AllowNonFinite: true}, more: func(d *desk) {
			info := stereo(5000)
			info.Encoding = audiofile.Float32
			d.mix("mixes/04 odd.wav", info, func(c int, n int64) float64 {
				if n == 100 {
					return math.NaN()
				}
				return tone(4)(c, n)
			})
		}},
		"continuous": {release: "continuous = true\n" + quickChain},
		"what has left": {release: quickChain, more: func(d *desk) {
			d.mix("mixes/04 gone.wav", stereo(500), loud)
			d.render(Options{})
			d.must(os.Remove(d.path("mixes/04 gone.wav")))
		}},
		"tags": {release: quickChain + "\n[tags]\nalbum = \"A & B <ü>\"\n"},
	} {
		if slices.Contains([]string{"no stage", "removed files, no page", "heard"}, name) && !long.Wanted() {
			continue // others have as little, and removed files
		}
		t.Run(name, func(t *testing.T) {
			d := calmDesk(t)
			if name == "a clip that is driven far" {
				d = ferryDeskOf(t, narrow, 20000, 24577, 20480)
			}
			d.write("release.toml", c.release)
			if c.more != nil {
				c.more(d)
			}
			d.render(c.o)
			whole := d.render(c.o)
			if whole.Ledger == nil {
				t.Fatal("no ledger, though it is wanted")
			}
			before := d.tree("masters")
			o := c.o
			o.Brief = true
			var events, wholeEvents []Step
			o.Progress = func(e Event) { events = append(events, e.Step) }
			o.Jobs = 1
			brief := d.render(o)
			if brief.Ledger != nil {
				t.Fatal("the ledger was read")
			}
			if diff := cmp.Diff(allTold(whole), allTold(brief)); diff != "" {
				t.Errorf("by the ledger (-), in brief (+):\n%s", diff)
			}
			o.Brief, o.Progress = false, func(e Event) { wholeEvents = append(wholeEvents, e.Step) }
			d.render(o)
			if diff := cmp.Diff(wholeEvents, events); diff != "" {
				t.Errorf("events by the ledger (-), in brief (+):\n%s", diff)
			}
			sameTree(t, "after it", d.tree("masters"), before)

			r, err := release.Load(d.path("release.toml"))
			d.must(err)
			whole, err = Forecast(t.Context(), r, Options{Removed: c.o.Removed, AllowNonFinite: c.o.AllowNonFinite})
			d.must(err)
			o = Options{Removed: c.o.Removed, AllowNonFinite: c.o.AllowNonFinite, Brief: true}
			brief, err = Forecast(t.Context(), r, o)
			d.must(err)
			if brief.Ledger != nil {
				t.Error("the ledger was read for a forecast")
			}
			if diff := cmp.Diff(allTold(whole), allTold(brief)); diff != "" {
				t.Errorf("forecast by the ledger (-), in brief (+):\n%s", diff)
			}
		})
	}
}

// Whatever was done to the files: a run that does not want the ledger does what one does that does.
func TestWhatIsKeptInBriefHidesNothing(t *testing.T) {
	inBrief(t)
	const page, sums = "masters/ledger.html", "masters/disc/" + ledger.SumsName
	text := pagedChain + `
[[delivery]]
name = "disc"
sums = "sha256"
encoding = "pcm16"

[[delivery.stage]]
kind = "dither"
bits = 16
`
	edit := func(name, old, new string) func(*desk) {
		return func(d *desk) {
			text := d.read(name)
			if !strings.Contains(text, old) {
				d.t.Fatalf("%s has no %q", name, old)
			}
			d.write(name, strings.Replace(text, old, new, 1))
		}
	}
	remove := func(name string) func(*desk) { return func(d *desk) { d.must(os.Remove(d.path(name))) } }
	// A quick run has others of their kinds.
	others := []string{
		"the page is something else", "the sums lost", "a title", "the ceiling", "the brief ledger torn",
		"a delivery lost",
		"a mix touched", "no page wanted", "the ledger is no JSON", "the sums edited",
	}
	base := calmDesk(t)
	if !long.Wanted() {
		base.must(os.Remove(base.path("mixes/01 quay.wav")))
	}
	base.write("release.toml", text)
	base.render(Options{})
	pageless := newDesk(t) // a quick run draws pages where they are what is looked at
	d := pageless
	d.must(os.CopyFS(d.folder, os.DirFS(base.folder)))
	d.must(os.RemoveAll(d.path("masters")))
	d.edit("[output]", "[output]\npage = false")
	d.render(Options{})
	for name, do := range map[string]func(*desk){
		"a requirement's verdict edited": edit("masters/ledger.json", `"passed": true`, `"passed": false`),
		"a figure edited, the time set back": func(d *desk) {
			d.flipDigit("masters/ledger.json", `"loudness_lufs": -`)
		},
		"the ledger is no JSON":             func(d *desk) { d.write("masters/ledger.json", "{") },
		"the ledger lost":                   remove("masters/ledger.json"),
		"an entry taken out of the ledger":  func(d *desk) { d.withoutEntry("03 lantern") },
		"another tool wrote the ledger":     edit("masters/ledger.json", "ledgerline test", "ledgerline older"),
		"a record along a track altered":    func(d *desk) { d.flip("masters/ledger.along.jsonl") },
		"the records along the tracks lost": remove("masters/ledger.along.jsonl"),
		"the page lost":                     remove(page),
		"the page is something else":        func(d *desk) { d.write(page, "mine") },
		"the sums lost":                     remove(sums),
		"the sums edited":                   func(d *desk) { d.flip(sums) },
		"a master altered":                  func(d *desk) { d.flip("masters/02 breakwater.wav") },
		"a delivery lost":                   remove("masters/disc/02 breakwater.wav"),
		"a mix altered":                     func(d *desk) { d.flip("mixes/02 breakwater.wav") },
		"a mix touched": func(d *desk) {
			d.must(os.Chtimes(d.path("mixes/02 breakwater.wav"), time.Time{}, time.Now()))
		},
		"a mix gone":            remove("mixes/02 breakwater.wav"),
		"a setting":             edit("release.toml", "gain_db = 4.0", "gain_db = 5.5"),
		"a title":               edit("release.toml", "Night Ferry", "Night Ferry EP"),
		"the ceiling":           edit("release.toml", "ceiling_dbfs = -1.0", "ceiling_dbfs = -1.5"),
		"no page wanted":        edit("release.toml", "[output]", "[output]\npage = false"),
		"the state lost":        remove("masters/" + fresh.StateName),
		"the brief ledger lost": remove("masters/" + fresh.BriefName),
		"the brief ledger torn": func(d *desk) {
			s := d.read("masters/" + fresh.BriefName)
			d.write("masters/"+fresh.BriefName, s[:len(s)-20])
		},
		"the brief ledger of another form": edit("masters/"+fresh.BriefName, `{"form":`, `{"form":9`),
		"the brief ledger of an older ledger": func(d *desk) {
			old := d.read("masters/" + fresh.BriefName)
			edit("release.toml", "gain_db = 4.0", "gain_db = 5.5")(d)
			d.render(Options{})
			d.write("masters/"+fresh.BriefName, old)
		},
		"the journal of a killed run": func(d *desk) { d.write("masters/"+fresh.JournalName, "torn") },
		"nothing":                     func(*desk) {},
	} {
		if slices.Contains(others, name) && !long.Wanted() {
			continue
		}
		t.Run(name, func(t *testing.T) {
			var ends [2]map[string]any
			for n, brief := range []bool{false, true} {
				d, from := newDesk(t), base
				if !strings.Contains(name, "page") && !long.Wanted() {
					from = pageless
				}
				d.must(os.CopyFS(d.folder, os.DirFS(from.folder)))
				time.Sleep(2 * 20 * time.Millisecond)
				if out := d.render(Options{Brief: true}); out.Ledger != nil { // learns the stamps of the copies
					t.Fatal("the ledger was read")
				}
				do(d)
				ends[n] = d.ended(Options{Brief: brief})
				if ends[n]["error"] != "" { // a ledger that cannot be read
					ends[n] = d.ended(Options{Brief: brief, Force: true})
				}
			}
			if diff := cmp.Diff(ends[0], ends[1]); diff != "" {
				t.Errorf("by the ledger (-), in brief (+):\n%s", diff)
			}
		})
	}
}

// ended is what a forecast and a run tell, and what is there then.
func (d *desk) ended(o Options) map[string]any {
	d.t.Helper()
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	o.Tool = "ledgerline test"
	all := map[string]any{}
	forecast, err := Forecast(context.Background(), r, o)
	all["forecast error"] = d.unnamed(err)
	if err == nil {
		all["forecast"] = allTold(forecast)
	}
	out, err := d.try(context.Background(), o)
	all["error"] = d.unnamed(err)
	if err == nil {
		for i := range out.Notes {
			out.Notes[i] = strings.ReplaceAll(out.Notes[i], d.folder, "")
		}
		all["told"] = allTold(out)
	}
	all["tree"] = d.tree("masters")
	return all
}

// unnamed is an error's text without the folder's name.
func (d *desk) unnamed(err error) string {
	if err == nil {
		return ""
	}
	return strings.ReplaceAll(err.Error(), d.folder, "")
}

// flipDigit changes the first digit after a text in a file and sets its time back.
func (d *desk) flipDigit(name, after string) {
	d.t.Helper()
	info, err := os.Stat(d.path(name))
	d.must(err)
	text := []byte(d.read(name))
	at := strings.Index(string(text), after) + len(after)
	text[at] = '1' + (text[at]-'0')%9
	d.write(name, string(text))
	d.must(os.Chtimes(d.path(name), info.ModTime(), info.ModTime()))
}

// withoutEntry takes the entries of a track out of the ledger.
func (d *desk) withoutEntry(track string) {
	d.t.Helper()
	l, err := ledger.Read(d.path("masters/ledger.json"))
	d.must(err)
	kept := l.Tracks[:0]
	for _, t := range l.Tracks {
		if t.Name != track {
			kept = append(kept, t)
		}
	}
	l.Tracks = kept
	l.Sum()
	_, err = ledger.Write(d.path("masters/ledger.json"), l)
	d.must(err)
}

// Small releases have no file in brief, and one that has become small loses it.
func TestFewRendersAreNotKeptInBrief(t *testing.T) {
	d := calmDesk(t)
	d.render(Options{})
	path := d.path("masters/" + fresh.BriefName)
	if _, err := os.Stat(path); err == nil {
		t.Error("three renders are kept in brief")
	}
	inBrief(t)
	leastBrief = 3
	time.Sleep(2 * 20 * time.Millisecond) // the ledger is old enough to be known by its stamp
	d.render(Options{})
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
	d.must(os.Remove(d.path("mixes/02 breakwater.wav")))
	d.render(Options{})
	if _, err := os.Stat(path); err == nil {
		t.Error("two renders are kept in brief")
	}
}

// What a run keeps in brief is the same whether it has rendered or read the ledger.
func TestWhatIsKeptInBriefDoesNotDependOnWhoKeepsIt(t *testing.T) {
	inBrief(t)
	d := calmDesk(t)
	d.edit("sample_peak_max_dbfs = -1.0", "sample_peak_max_dbfs = -20.0\ntrue_peak_bs1770_max_dbtp = -6.0")
	d.render(Options{})
	rendered := d.read("masters/" + fresh.BriefName)
	d.must(os.Remove(d.path("masters/" + fresh.BriefName)))
	time.Sleep(2 * 20 * time.Millisecond)
	d.render(Options{Brief: true})
	if diff := cmp.Diff(rendered, d.read("masters/"+fresh.BriefName)); diff != "" {
		t.Errorf("after rendering (-), after reading (+):\n%s", diff)
	}
}
