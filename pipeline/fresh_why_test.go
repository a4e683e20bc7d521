package pipeline

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages/stagetest/long"
)

// The reason for a render names what changed and nothing else. The version of rendering is part of no entry
// but as part of its recipe: a recipe that nothing else explains is one of another version.
func TestTheReasonIsWhatChanged(t *testing.T) {
	long.Only(t, "TestOnlyWhatChangedIsRendered has the reasons")
	d := deliveryDesk(t)
	if !long.Wanted() {
		d.edit(deaf(), "")
		d.must(os.Remove(d.path("mixes/02 breakwater.wav")))
		d.must(os.Remove(d.path("mixes/03 lantern.wav")))
	}
	d.mix("mixes/silence.wav", stereo(500), func(int, int64) float64 { return 0 })
	d.render(Options{Jobs: 2})
	const file = "masters/" + ledger.FileName
	text, book := d.read("release.toml"), d.read(file)
	upgraded := func() {
		d.write(file, regexp.MustCompile(`"recipe_sha256": "..`).ReplaceAllString(book, `"recipe_sha256": "xx`))
	}
	for _, c := range []struct {
		name string
		edit func()
		want map[string]string // by the delivery; else the same of all
		all  string
	}{
		{name: "the version of rendering", edit: upgraded, all: "the version of rendering changed"},
		{
			name: "the ceiling", edit: func() { d.edit("ceiling_dbfs = -1.0", "ceiling_dbfs = -0.75") },
			all: "the release's ceiling_dbfs -1 -> -0.75",
		},
		{
			name: "what is measured", all: "[audibility] measure true -> false",
			edit: func() { d.edit("sources ", "audibility = { measure = false }\nsources ") },
		},
		{
			name: "what rounds beside a delivery", edit: func() { d.edit("bits = 24", "bits = 23") },
			want: map[string]string{
				"": "fine.bits 24 -> 23", "again": "fine.bits 24 -> 23 in the chain that it continues",
				"disc": "fine.bits 24 -> 23 in the chain that it continues",
			},
		},
	} {
		d.write("release.toml", text)
		d.write(file, book)
		c.edit()
		out, err := Forecast(t.Context(), d.load(), Options{})
		d.must(err)
		stale := 0
		for _, r := range out.Results {
			want := c.all
			if c.want != nil {
				want = c.want[r.Delivery]
			}
			if r.Why != want {
				t.Errorf("%s: %s: %q, want %q", c.name, r.Label(), r.Why, want)
			}
			if r.State == Stale {
				stale++
			}
		}
		if stale == 0 || strings.Contains(c.name, "version") && stale != len(out.Results) {
			t.Errorf("%s: %d of %d are stale", c.name, stale, len(out.Results))
		}
	}
}
