package page_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/trial"
)

var nobody = context.Background()

func made(t *testing.T, c page.Content) string {
	t.Helper()
	text, err := page.Make(c)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// What a render writes is what Make makes of its ledger and its records, and it is known again.
func TestARenderWritesThePage(t *testing.T) {
	s := theExample(t)
	if again := made(t, page.Content{Ledger: s.ledger, Records: s.records}); again != string(s.page) {
		t.Error("the page of the same ledger is another")
	}
	if !page.Is(s.page) || page.Is([]byte("<!doctype html><title>mine</title>")) {
		t.Error("a page is not known again, or another one is taken for it")
	}
}

// The page asks nobody for anything: no address but within itself, and a policy that forbids all.
func TestNoRequest(t *testing.T) {
	text := string(theExample(t).page)
	for _, m := range regexp.MustCompile(
		`(?i)\b(?:src|srcset|href|xlink:href|action|poster|data|cite|ping)\s*=\s*"([^"]*)"`).FindAllStringSubmatch(
		text, -1) {
		if !strings.HasPrefix(m[1], "#") && m[1] != "data:," {
			t.Errorf("it leads to %q", m[1])
		}
	}
	for _, word := range []string{
		"http:", "https:", "//www", "url(", "@import", "fetch(", "XMLHttpRequest", "WebSocket", "import(",
		"sendBeacon", "<iframe", "<object", "<embed",
	} {
		if strings.Contains(text, word) {
			t.Errorf("it has %q", word)
		}
	}
	if !strings.Contains(text, `http-equiv="Content-Security-Policy" content="default-src 'none';`) {
		t.Error("no policy that forbids requests")
	}
}

// Every picture has a name and a description of its own, every id is the only one, and every link leads
// somewhere.
func TestPicturesAreNamedAndLinksLeadSomewhere(t *testing.T) {
	text := string(theExample(t).page)
	ids := map[string]int{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(text, -1) {
		if ids[m[1]]++; ids[m[1]] > 1 {
			t.Errorf("two of id %q", m[1])
		}
	}
	pictures := regexp.MustCompile(`<svg ([^>]*)>(.{0,40})`).FindAllStringSubmatch(text, -1)
	named := 0
	for _, m := range pictures {
		if strings.Contains(m[1], `aria-hidden="true"`) {
			continue
		}
		named++
		by := regexp.MustCompile(`aria-labelledby="(\S+) (\S+)"`).FindStringSubmatch(m[1])
		if by == nil || !strings.Contains(m[1], `role="img"`) || !strings.HasPrefix(m[2], "<title id=") {
			t.Errorf("a picture without a name: <svg %s>%s", m[1], m[2])
			continue
		}
		for _, tag := range []string{`<title id="` + by[1] + `">`, `<desc id="` + by[2] + `">`} {
			if at := strings.Index(text, tag); at < 0 || strings.HasPrefix(text[at+len(tag):], "<") {
				t.Errorf("no text in %s", tag)
			}
		}
	}
	if named < 40 {
		t.Errorf("%d pictures", named)
	}
	for _, m := range regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(text, -1) {
		if ids[m[1]] == 0 {
			t.Errorf("a link to %q, which is nowhere", m[1])
		}
	}
}

// Every figure has its figures in a table, but for the overview, whose figures are in the table before it.
func TestEveryPictureHasATable(t *testing.T) {
	text := string(theExample(t).page)
	figures := regexp.MustCompile(`(?s)<figure[^>]*>.*?</figure>`).FindAllString(text, -1)
	for _, f := range figures {
		if !strings.Contains(f, "<table") && !strings.Contains(f, `class="order"`) {
			t.Errorf("no table in %.300s", f)
		}
		if !strings.Contains(f, "<figcaption>") {
			t.Errorf("no words in %.300s", f)
		}
	}
	if len(figures) < 12 {
		t.Errorf("%d figures", len(figures))
	}
}

// The verdict comes first, and says what failed with the figures that it failed by.
func TestTheVerdictComesFirst(t *testing.T) {
	s := theExample(t)
	text := string(s.page)
	plain := s.ledger.Tracks[2]
	var found string
	for _, q := range plain.Requirements {
		if !q.Passed {
			found = strings.Replace(fmt.Sprintf("%.2f", *q.Found), "-", "−", 1)
		}
	}
	for _, want := range []string{"✓ The masters meet all 3 requirements.",
		"✗ The other chains FAIL 1 of 6.",
		"plain, true peak: 1 of 1 track. Worst is 01 quay with " + found + " dBTP; wanted at most −1.00."} {
		at := strings.Index(text, want)
		if at < 0 || at > strings.Index(text, "<main") {
			t.Errorf("%q is at %d of %d", want, at, len(text))
		}
	}
}

// Names are text and nothing else.
func TestNamesAreEscaped(t *testing.T) {
	s := theExample(t)
	l := *s.ledger
	const evil = `</title><script>alert(1)</script>"'&`
	l.Title = evil
	l.Tracks = append([]ledger.Track(nil), l.Tracks...)
	for i := range l.Tracks {
		l.Tracks[i].Name = evil
	}
	l.Tracks[1].Variant = evil + " again"
	text := made(t, page.Content{Ledger: &l, Records: s.records})
	if strings.Contains(text, "<script>alert") || strings.Count(text, "<script>") != 1 {
		t.Error("a name became a script")
	}
}

// A ledger without records, of silence, or without anything still has a page.
func TestWithoutRecordsOrSound(t *testing.T) {
	s := theExample(t)
	if text := made(t, page.Content{Ledger: s.ledger}); strings.Contains(text, "Along the track") ||
		!strings.Contains(text, "Staircase of headroom") {
		t.Error("without records there is a picture along the track, or none of the headroom")
	}
	l := ledger.New("ledgerline test", "none", 0, "")
	made(t, page.Content{Ledger: l})
	silent := s.ledger.Tracks[0]
	silent.Whole, silent.Requirements = &ledger.Whole{}, nil
	silent.Boundaries = append([]ledger.Boundary(nil), silent.Boundaries...)
	for i, b := range silent.Boundaries {
		silent.Boundaries[i] = ledger.Boundary{Boundary: b.Boundary, Stage: b.Stage}
	}
	silent.Stages = append([]ledger.StageResult(nil), silent.Stages...)
	for i, x := range silent.Stages {
		silent.Stages[i] = ledger.StageResult{Stage: x.Stage, Kind: x.Kind}
	}
	l.Tracks = []ledger.Track{silent}
	r := &along.Record{Track: silent.Name, RateHz: 44100, Channels: 2, Frames: 44100}
	for range 100 {
		for _, levels := range []*along.Levels{&r.PeakIn, &r.PeakOut, &r.Momentary, &r.Removed, &r.NoiseToMask} {
			levels.Add(math.Inf(-1))
		}
		r.Clipped = append(r.Clipped, 0)
	}
	text := made(t, page.Content{Ledger: l, Records: []*along.Record{r}})
	if drawn, _, _ := strings.Cut(text, "<script>"); strings.Contains(drawn, "NaN") ||
		strings.Contains(drawn, "Inf") {
		at := max(strings.Index(drawn, "NaN"), strings.Index(drawn, "Inf"))
		t.Errorf("a figure that does not exist is a number: %s", drawn[max(0, at-150):at+20])
	}
	empty := &along.Record{Track: silent.Name, RateHz: 44100, Channels: 2}
	made(t, page.Content{Ledger: l, Records: []*along.Record{empty}})
}

// Twelve tracks by three chains, every record as full as it can be, are 3 MB at most.
func TestSize(t *testing.T) {
	s := theExample(t)
	l := *s.ledger
	l.Tracks = nil
	var records []*along.Record
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 12 {
		for i := range s.ledger.Tracks {
			track := s.ledger.Tracks[i]
			track.Name = fmt.Sprintf("%02d a track of this release", n+1)
			l.Tracks = append(l.Tracks, track)
			records = append(records, full(s.records[i], r))
		}
	}
	text := made(t, page.Content{Ledger: &l, Records: records})
	if len(text) > 3e6 {
		t.Errorf("%d bytes", len(text))
	}
	t.Logf("%d bytes", len(text))
}

// full is a record with 700 columns that differ and ten waves of each kind.
func full(of *along.Record, r *rand.Rand) *along.Record {
	a := *of
	a.Frames = int64(a.RateHz) * 240
	stretch := func(l along.Levels, by float64) (all along.Levels) {
		for i := range along.MostColumns {
			all.Add(l[i*len(l)/along.MostColumns] + by*r.Float64())
		}
		return all
	}
	a.PeakIn, a.PeakOut, a.Momentary = stretch(a.PeakIn, 3), stretch(a.PeakOut, 3), stretch(a.Momentary, 1)
	a.Removed, a.NoiseToMask = stretch(a.Removed, 3), stretch(a.NoiseToMask, 3)
	a.Clipped = make([]int64, along.MostColumns)
	for len(a.Cuts) < 10 {
		a.Cuts = append(a.Cuts, a.Cuts[0])
	}
	a.Moments = a.Cuts
	return &a
}

// Text has a contrast of 4.5 to 1 and more, marks of 3 to 1, in light, in dark and in print (WCAG 2.2, 1.4.3
// and 1.4.11).
func TestContrast(t *testing.T) {
	text := string(theExample(t).page)
	roots := regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(text, -1)
	if len(roots) != 3 {
		t.Fatalf("%d sets of colours", len(roots))
	}
	for i, m := range roots {
		colours := map[string][3]float64{}
		for _, c := range regexp.MustCompile(`--(\w+): #([0-9a-f]+)`).FindAllStringSubmatch(m[1], -1) {
			colours[c[1]] = rgb(c[2])
		}
		check := func(name string, least float64) {
			if got := contrast(colours[name], colours["bg"]); got < least {
				t.Errorf("set %d: %s has %.2f to 1, want %v", i, name, got, least)
			}
		}
		for _, name := range []string{"ink", "muted", "after", "cutink", "bad"} {
			check(name, 4.5)
		}
		for _, name := range []string{"soft", "cut", "rule"} {
			check(name, 3)
		}
		// What stays and what was taken away differ in lightness too.
		if got := contrast(colours["soft"], colours["cut"]); got < 1.25 {
			t.Errorf("set %d: the two hues differ by %.2f to 1", i, got)
		}
	}
}

func rgb(hex string) (c [3]float64) {
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	var v [3]int
	fmt.Sscanf(hex, "%02x%02x%02x", &v[0], &v[1], &v[2])
	for i := range v {
		c[i] = float64(v[i]) / 255
	}
	return c
}

// contrast is by WCAG 2.2, relative luminance and contrast ratio.
func contrast(a, b [3]float64) float64 {
	light := func(c [3]float64) float64 {
		for i, v := range c {
			if v <= 0.04045 {
				c[i] = v / 12.92
			} else {
				c[i] = math.Pow((v+0.055)/1.055, 2.4)
			}
		}
		return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
	}
	x, y := light(a), light(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Two ledgers on one page have their columns side by side, and what changed first.
func TestTwoLedgers(t *testing.T) {
	s := theExample(t)
	old := *s.ledger
	old.Tracks = append([]ledger.Track(nil), s.ledger.Tracks[:2]...)
	old.Tracks[1].Whole = new(ledger.Whole)
	*old.Tracks[1].Whole = *s.ledger.Tracks[1].Whole
	net := *old.Tracks[1].Whole.NetDB + 0.5
	old.Tracks[1].Whole.NetDB = &net
	change := ledger.Compare(&old, s.ledger, 0.01)
	change.Trials = []ledger.OtherFiles{
		{Track: old.Tracks[0].Name, File: "listening/x.json", Kind: "abx", Changed: []string{"mix"}},
	}
	both := page.Compare(&old, s.records[:2], s.ledger, s.records, &change)
	both.Trials = []trial.Result{{Track: old.Tracks[0].Name, Complete: true,
		Protocol: trial.Protocol{Kind: trial.ABX},
		Sources:  []trial.Source{{Name: "mix", Is: trial.Mix, SHA256: "other"}},
		Outcome:  []trial.Outcome{{First: "mix", Second: "own chain", Count: 9, Of: 10, Found: true}}}}
	text := made(t, both)
	for _, want := range []string{"What changed", "own chain, before", "own chain, now", "plain, now",
		"listening trial of other files: listening/x.json (abx), changed since: mix",
		"mix / own chain: 9 of 10 right", "Changed since: mix."} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q", want)
		}
	}
	if !strings.Contains(text, "✓ The masters meet all 3 requirements.") ||
		!strings.Contains(text, "✗ The other chains FAIL 1 of 6.") {
		t.Error("the verdict is not that of the newer ledger alone")
	}
	// What differs between the two rows of a render is bold in both, and the rest is not: the net alone of the
	// second.
	kept, moved := strings.Count(text, `class="kept"`), strings.Count(text, `data-of="net, dB" class="strong">`)
	if lone := len(s.ledger.Tracks) - 2; kept != 2*9+2*8 || moved != 2+lone {
		t.Errorf("%d figures are as they were and %d are not", kept, moved)
	}
	if strings.Contains(text, "plain, before") || bytes.Contains(s.page, []byte("What changed")) {
		t.Error("a render that was not there, or a change of nothing")
	}
}

// A survey is drawn with the track that it is of, with its answer.
func TestSurvey(t *testing.T) {
	const text = `{"setting": "drive.gain_db", "tracks": [{"name": "01 quay", "answer": 4.5, "rows": [
		{"value": 4, "true_net_db": 3.9, "audibility": {"noise_to_mask_db": -24, "disturbed_percent": 0.4}, "passed": true},
		{"value": 4.5, "true_net_db": 4.4, "audibility": {"noise_to_mask_db": -22, "disturbed_percent": 0.9}, "passed": true},
		{"value": 5, "true_net_db": null, "passed": false}]}, {"name": "another", "answer": null, "rows": []},
		{"name": "01 quay", "variant": "mild", "answer": null, "rows": [{"value": 4, "passed": false}]}]}`
	u, err := page.ParseSurvey([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	s := theExample(t)
	drawn := made(t, page.Content{Ledger: s.ledger, Records: s.records, Survey: u})
	for _, want := range []string{
		"Survey of drive.gain_db, own chain", "Survey of drive.gain_db, mild", "No value keeps every requirement",
		"The deepest value that keeps every requirement is 4.5.", ">answer 4.5<",
	} {
		if !strings.Contains(drawn, want) {
			t.Errorf("no %q", want)
		}
	}
	_, picture, _ := strings.Cut(drawn, `<figure class="survey">`)
	picture, _, _ = strings.Cut(picture, "</svg>")
	// Of two values there are both figures, of the third none.
	if dots, rings := strings.Count(picture, `class="dot"`),
		strings.Count(picture, `class="ring"`); dots != 4 || rings != 0 {
		t.Errorf("%d dots and %d rings, want 4 and none", dots, rings)
	}
	if strings.Contains(string(s.page), "Survey of") {
		t.Error("a survey that nobody made")
	}
	for _, bad := range []string{"", "[]", "{}", `{"schema": 2, "tracks": []}`} {
		if _, err := page.ParseSurvey([]byte(bad)); err == nil || !strings.Contains(err.Error(), "not a survey") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

// What is delivered has no column of its own: it is judged with its master, and told in a table with how much
// its peak has grown.
func TestDeliveries(t *testing.T) {
	s := theExample(t)
	l := *s.ledger
	disc := l.Tracks[0]
	disc.Delivery, disc.Along = "disc", ""
	disc.Boundaries = append([]ledger.Boundary(nil), disc.Boundaries...)
	peak := *disc.Boundaries[len(disc.Boundaries)-1].TruePeakDBTP + 0.25
	disc.Boundaries[len(disc.Boundaries)-1].TruePeakDBTP = &peak
	found := -2.25
	disc.Coders = []ledger.Coded{
		{
			Coder: "low", TruePeakDBTP: ledger.Level(1.5), TruePeakTimeS: ledger.Level(2.25), TruePeakChannel: 2,
			SamplePeakDBFS: ledger.Level(1.25), TrueGrowthDB: ledger.Level(2.375),
		},
		{
			Coder: "high", TruePeakDBTP: ledger.Level(-0.5), Solved: &ledger.Solved{
				Stage: "hold", DeclaredDBFS: -1, CeilingDBFS: &found, Rounds: 4,
			},
		},
	}
	limit := 0.0
	disc.Coders[0].Require(&limit)
	disc.Coders[1].Require(&limit)
	l.Tracks = append([]ledger.Track{l.Tracks[0], disc}, l.Tracks[1:]...)
	records := append([]*along.Record{s.records[0], nil}, s.records[1:]...)
	text := made(t, page.Content{Ledger: &l, Records: records})
	for _, want := range []string{"✗ The masters and deliveries FAIL 1 of 8 requirements.",
		"disc through low, true peak: 1 of 1 track. Worst is 01 quay with 1.50 dBTP; wanted at most 0.00.",
		">2.250 s, channel 2<", ">&#43;2.38<", "hold lowered from -1 to -2.25 dBFS (4 rounds)",
		"1 file is delivered of them.", ">&#43;0.25<", "delivery, pcm24, 44100 Hz", "3 chains"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q", want)
		}
	}
	if got, want := strings.Count(text, `<article class="card">`), 3; got != want {
		t.Errorf("%d columns, want %d", got, want)
	}
}

// Of a track whose master is not rendered yet, what is delivered are the columns.
func TestDeliveriesWithoutAMaster(t *testing.T) {
	s := theExample(t)
	l := *s.ledger
	disc := l.Tracks[0]
	disc.Delivery, disc.Along = "disc", ""
	l.Tracks = []ledger.Track{disc}
	text := made(t, page.Content{Ledger: &l, Records: []*along.Record{nil}})
	if got := strings.Count(text, `<article class="card">`); got != 1 {
		t.Errorf("%d columns, want 1", got)
	}
}
