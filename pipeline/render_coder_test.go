package pipeline

import (
	"context"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/coder/codertest"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages/stagetest/long"
)

// coderTable is a [[delivery.coder]] of which the encoder copies.
func coderTable(name string, decode []string, lines ...string) string {
	list := func(args []string) string {
		quoted := make([]string, len(args))
		for i, a := range args {
			quoted[i] = fmt.Sprintf("%q", a)
		}
		return "[" + strings.Join(quoted, ", ") + "]"
	}
	encode := codertest.Program("copy", "{in}", "{out}.bin")
	return stage("[[delivery.coder]]",
		append([]string{fmt.Sprintf("name = %q", name), "encode = " + list(encode), "decode = " + list(decode)},
			lines...)...)
}

// decodes is a decoder of the tests.
func decodes(way string, args ...string) []string {
	return codertest.Program(way, append(args, "{out}.bin", "{back}")...)
}

// coderDesk has one mix, driven and held, and a delivery that is held once more and goes through coders.
func coderDesk(t *testing.T, coders ...string) *desk {
	codertest.Use(t, codertest.Version)
	d := newDesk(t)
	d.mix("mixes/01 quay.wav", narrow(long.Or[int64](5000, 30000)), tone(1))
	d.write("release.toml", head("pcm24")+"audibility = { measure = false }\n"+stage("[[stage]]", drive...)+
		stage("[[stage]]", clip...)+stage("[[stage]]", hold...)+
		"[[delivery]]\nname = \"web\"\n"+stage("[[delivery.stage]]", `kind = "ceiling_hold"`, `name = "again"`,
		`ceiling_dbfs = -1.0`)+stage("[[delivery.stage]]", fine...)+
		strings.Join(coders, ""))
	return d
}

// web is the entry of the delivery.
func web(t *testing.T, out *Outcome) *ledger.Track {
	t.Helper()
	for i := range out.Ledger.Tracks {
		if x := &out.Ledger.Tracks[i]; x.Delivery == "web" {
			return x
		}
	}
	t.Fatal("the delivery is not in the ledger")
	return nil
}

var running = Options{RunCoders: true}

// Coders are run only where they are asked for, on files as they are, and not again while nothing has
// changed.
func TestADeliveryGoesThroughItsCoder(t *testing.T) {
	d := coderDesk(t, coderTable("louder", decodes("scale", "1.1"), "true_peak_max_dbtp = 0.0"))
	out := d.render(Options{})
	if x := web(t, out); x.Coders != nil {
		t.Errorf("it went through %v", x.Coders)
	}
	const note = `delivery "web" is not checked through louder (1 track): render --run-coders does`
	if !slices.Contains(out.Notes, note) {
		t.Errorf("the notes are %q", out.Notes)
	}
	before := d.tree("masters/web")
	out = d.render(running)
	x := web(t, out)
	if len(x.Coders) != 1 || states(out) != "01 quay kept, 01 quay kept" {
		t.Fatalf("%s; it went through %v", states(out), x.Coders)
	}
	grown := 20 * math.Log10(1.1)
	c, end := x.Coders[0], x.Boundaries[len(x.Boundaries)-1]
	if math.Abs(*c.SampleGrowthDB-grown) > 1e-3 || math.Abs(*c.TrueGrowthDB-grown) > 1e-3 ||
		*c.SamplePeakTimeS != *end.SamplePeakTimeS || c.SamplePeakChannel != end.SamplePeakChannel {
		t.Errorf("it came back as %+v, want %.4f dB more than %+v", c, grown, end)
	}
	if !c.Passed || c.DelayFrames != 0 || c.Versions[0] != codertest.Version || len(out.Notes) > 0 {
		t.Errorf("it came back as %+v; the notes are %q", c, out.Notes)
	}
	sameTree(t, "the delivery", d.tree("masters/web"), before)
	d.noLitter()

	// Nothing is run again: the ledger is the same, although the program would now tell another version if it
	// were asked.
	text := d.read("masters/ledger.json")
	codertest.Use(t, "testcoder 2")
	if d.render(Options{}); d.read("masters/ledger.json") != text {
		t.Error("a plain render changes the ledger")
	}
	if x := web(t, d.render(running)); x.Coders[0].Versions[1] != "testcoder 2" {
		t.Errorf("another version was not run: %+v", x.Coders[0])
	}
	text = d.read("masters/ledger.json")
	if d.render(running); d.read("masters/ledger.json") != text {
		t.Error("a second run changes the ledger")
	}

	// Neither does a render of what is up to date, while the same bytes come of it.
	if d.render(Options{Force: true}); d.read("masters/ledger.json") != text {
		t.Error("a forced render changes the ledger")
	}

	// The limit is judged anew without a run.
	d.edit("true_peak_max_dbtp = 0.0", "true_peak_max_dbtp = -3.0")
	out = d.render(Options{})
	want := []string{
		fmt.Sprintf("01 quay (web), through louder: true peak %.4f dBTP, limit -3.0000", *c.TruePeakDBTP),
	}
	if got := web(t, out).FailedRequirements(); !slices.Equal(got, want) ||
		out.Judged().Totals.RequirementsFailed != 1 {
		t.Errorf("failed are %q, want %q", got, want)
	}
	// A coder that is another one, or has gone, has no figures.
	d.edit(`"1.1"`, `"1.05"`)
	if x := web(t, d.render(Options{})); len(x.Coders) > 0 {
		t.Errorf("another coder has the figures of the one before: %+v", x.Coders)
	}
}

// A delivery whose coder fails keeps its old file and its old entry; the others are finished.
func TestACoderThatFailsKeepsTheOldFile(t *testing.T) {
	long.Only(t, "TestADeliveryFailsByItself keeps what is old, TestCodersThatFail of package coder fails")
	d := coderDesk(t, coderTable("louder", decodes("scale", "1.1")))
	d.render(running)
	before, was := d.tree("masters/web"), *web(t, d.render(Options{}))
	master := d.read("masters/01 quay.wav")
	d.edit("gain_db = 4.0", "gain_db = 3.0")
	d.edit(`"scale", "1.1"`, `"fail", "1.1"`)
	out, err := d.try(context.Background(), running)
	d.must(err)
	if states(out) != "01 quay rendered, 01 quay failed" {
		t.Errorf("%s", states(out))
	}
	if err := out.Results[1].Err; err == nil ||
		!strings.HasPrefix(err.Error(), "01 quay (web): "+d.path("release.toml")+
			":30: coder \"louder\": decode: \"") {
		t.Errorf("the error is %v", err)
	}
	sameTree(t, "the delivery", d.tree("masters/web"), before)
	if diff := cmp.Diff(*web(t, out), was); diff != "" {
		t.Errorf("the entry changed: %s", diff)
	}
	if d.read("masters/01 quay.wav") == master {
		t.Error("the master was not rendered")
	}
	d.noLitter()
	// One that is missing fails before anything is rendered.
	d.edit(`"`+os.Args[0]+`", "copy"`, `"no-such-program", "copy"`)
	out, err = d.try(context.Background(), running)
	d.must(err)
	if err := out.Results[1].Err; err == nil ||
		!strings.Contains(err.Error(), `encode: there is no program "no-such-program" in PATH`) {
		t.Errorf("the error is %v", err)
	}
	sameTree(t, "the delivery", d.tree("masters/web"), before)
}

// The ceiling of the delivery's hold is lowered until what comes back keeps the limit, and stays so while
// nothing changes.
func TestACeilingIsSoughtForACoder(t *testing.T) {
	const limit = -0.5
	d := coderDesk(t, coderTable("over", decodes("over", "1.25", "0.6"),
		fmt.Sprintf("true_peak_max_dbtp = %v", limit), "solve = true"), coderTable("copy", decodes("copy")))
	out := d.render(running)
	x := web(t, out)
	c := x.Coders[0]
	if len(x.Coders) != 2 || !c.Passed || *c.TruePeakDBTP > limit || *c.TruePeakDBTP < limit-0.05 {
		t.Fatalf("it came back as %+v", x.Coders)
	}
	s := c.Solved
	// The coder multiplies peaks by 1.25, so that the ceiling has to be 1.94 dB below the limit, and a little
	// more, because what it does to the samples beside a peak lifts that, too.
	if want := limit - 20*math.Log10(1.25); s == nil || s.Stage != "again" || s.DeclaredDBFS != -1 ||
		*s.CeilingDBFS > want || *s.CeilingDBFS < want-0.1 || s.Rounds > 6 {
		t.Errorf("the search is %+v, want %.2f dBFS", s, want)
	}
	if got := x.Chain[3].Settings["ceiling_dbfs"]; got != *s.CeilingDBFS || x.Coders[1].Solved != nil ||
		*x.Coders[1].TrueGrowthDB != 0 {
		t.Errorf("the delivery was held at %v; the copy is %+v", got, x.Coders[1])
	}
	if out.Ledger.Tracks[0].Delivery != "" || out.Ledger.Tracks[0].Chain[2].Settings["ceiling_dbfs"] != -1.0 {
		t.Error("the master's hold was lowered, too")
	}
	d.noLitter()
	files, text := d.tree("masters/web"), d.read("masters/ledger.json")
	for _, o := range long.Or([]Options{running}, []Options{{}, running}) {
		if out := d.render(o); states(out) != "01 quay kept, 01 quay kept" ||
			d.read("masters/ledger.json") != text {
			t.Errorf("%+v: %s", o, states(out))
		}
		// What was found is used again where the file is missing.
		d.must(os.Remove(d.path("masters/web/01 quay.wav")))
		if out := d.render(o); states(out) != "01 quay kept, 01 quay rendered" ||
			d.read("masters/ledger.json") != text {
			t.Errorf("%+v, the file being gone: %s", o, states(out))
		}
		sameTree(t, "the delivery", d.tree("masters/web"), files)
	}
	if !long.Wanted() {
		return
	}
	if out := d.render(Options{RunCoders: true, Force: true}); d.read("masters/ledger.json") != text {
		t.Errorf("from scratch: %s", cmp.Diff(*web(t, out), *x))
	}
	// For another mix it is not good, and without a run the hold's own ceiling counts.
	d.mix("mixes/01 quay.wav", stereo(30001), tone(2))
	y := web(t, d.render(Options{}))
	if y.Chain[3].Settings["ceiling_dbfs"] != -1.0 || len(y.Coders) > 0 {
		t.Errorf("another mix was held at %v, and has %+v", y.Chain[3].Settings["ceiling_dbfs"], y.Coders)
	}
	if y := web(t, d.render(running)); !y.Coders[0].Passed || y.Coders[0].Solved == nil {
		t.Errorf("then it came back as %+v", y.Coders)
	}
	// For another limit it is sought again.
	d.edit("true_peak_max_dbtp = -0.5", "true_peak_max_dbtp = -1.5")
	y = web(t, d.render(running))
	if c := y.Coders[0]; !c.Passed || *c.TruePeakDBTP < -1.55 {
		t.Errorf("with another limit it came back as %+v", c)
	}
}

// Where no ceiling keeps the limit the delivery has its own, and the requirement fails.
func TestNoCeilingKeepsTheLimit(t *testing.T) {
	long.Only(t, "TestSearch of package coder finds none, and TestACeilingIsSoughtForACoder has the rest")
	d := coderDesk(t, coderTable("spike", decodes("spike", "0.99"), "true_peak_max_dbtp = -0.5", "solve = true"))
	out := d.render(running)
	x := web(t, out)
	s := x.Coders[0].Solved
	if s == nil || s.CeilingDBFS != nil || s.Rounds > 6 || x.Coders[0].Passed ||
		x.Chain[3].Settings["ceiling_dbfs"] != -1.0 || out.Judged().Totals.RequirementsFailed != 1 {
		t.Errorf("it came back as %+v, %+v", x.Coders[0], s)
	}
	text := d.read("masters/ledger.json")
	for _, o := range []Options{{}, running} {
		if out := d.render(o); states(out) != "01 quay kept, 01 quay kept" ||
			d.read("masters/ledger.json") != text {
			t.Errorf("%+v: %s", o, states(out))
		}
	}
}

// Tracks that run into each other have one stream, and so one ceiling, at which all of them keep the limit.
func TestACeilingIsSoughtForAStream(t *testing.T) {
	long.Only(t, "seeks a ceiling as TestACeilingIsSoughtForACoder does")
	d := coderDesk(t, coderTable("over", decodes("over", "1.25", "0.6"), "true_peak_max_dbtp = -0.5",
		"solve = true"))
	d.mix("mixes/02 flood.wav", stereo(20000), tone(2))
	d.edit("ceiling_dbfs = -1.0\n", "ceiling_dbfs = -1.0\ncontinuous = [[\"01 quay\", \"02 flood\"]]\n")
	out := d.render(running)
	ceilings := map[float64]int{}
	top := math.Inf(-1)
	for _, x := range out.Ledger.Tracks {
		if x.Delivery == "web" {
			ceilings[*x.Solved().CeilingDBFS]++
			top = max(top, *x.Coders[0].TruePeakDBTP)
			if !x.Coders[0].Passed {
				t.Errorf("%s: %+v", x.Name, x.Coders[0])
			}
		}
	}
	if got := slices.Collect(maps.Values(ceilings)); !slices.Equal(got, []int{2}) || top < -0.55 {
		t.Errorf("the ceilings are %v, and the highest peak %v", ceilings, top)
	}
	text := d.read("masters/ledger.json")
	d.must(os.Remove(d.path("masters/web/02 flood.wav")))
	if d.render(Options{}); d.read("masters/ledger.json") != text {
		t.Error("the ledger changed where a file was missing")
	}
}

// A run that is interrupted while a coder is at work ends it, and keeps the old file.
func TestAnInterruptEndsACoder(t *testing.T) {
	long.Only(t, "TestNoProcessIsLeft of package coder interrupts one")
	d := coderDesk(t, coderTable("stuck", decodes("wait", "PID")))
	d.edit("PID", d.path("pid"))
	d.render(Options{})
	before := d.tree("masters/web")
	d.edit("gain_db = 4.0", "gain_db = 3.0")
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		for {
			if _, err := os.Stat(d.path("pid")); err == nil {
				cancel()
				return
			}
		}
	}()
	out, err := d.try(ctx, running)
	if err == nil || out == nil || out.Results[1].State != Interrupted {
		t.Errorf("%v, %+v", err, out)
	}
	sameTree(t, "the delivery", d.tree("masters/web"), before)
	d.noLitter()
}
