package ledger

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/meter"
)

func TestCutting(t *testing.T) {
	c := NewCutting(meter.RemovalReading{
		Samples: 30000, Removed: 1, Driven: 1000, Clipped: 20,
		Worst400ms: meter.RemovalWindow{Frame: 480, Removed: 0.5, Driven: 5},
		Worst3s:    meter.RemovalWindow{Removed: 0.5}, // out of silence, as a filter may
		Cuts: []meter.Cut{
			{Frame: 24000, By: math.Inf(1)}, {Frame: 48001, Channel: 1, By: 2}, {Frame: 7, By: 1 + 1e-9},
		},
	}, 48000)
	near(t, "removed", c.RemovedDB, -30)
	near(t, "in 400 ms", c.RemovedWorst400ms.DB, -10)
	near(t, "clipped", &c.ClippedPercent, 0.0667)
	near(t, "cut", c.DeepestCuts[1].CutDB, 6.0206) // 20 log10 2
	if c.RemovedWorst400ms.TimeS != 0.01 || c.RemovedWorst3s == nil || c.RemovedWorst3s.DB != nil ||
		c.ClippedSamples != 20 {
		t.Errorf("got %+v", c)
	}
	cuts := c.DeepestCuts
	if len(cuts) != 2 || cuts[0].CutDB != nil || cuts[0].TimeS != 0.5 || cuts[0].Channel != 1 ||
		cuts[1].TimeS != 1.000021 || cuts[1].Channel != 2 {
		t.Errorf("cuts %+v, want one to silence, one of 6 dB and none of zero", cuts)
	}
	if c := NewCutting(meter.RemovalReading{Driven: 5}, 48000); !reflect.DeepEqual(c, Cutting{}) {
		t.Errorf("of nothing: %+v", c)
	}
}

// A measure cuts nothing, and has no key that would say it might have; nor does
// reading and writing give it one.
func TestMeasureHasNoCutting(t *testing.T) {
	c := NewCeiling(-1, meter.Reading{}, 48000, stages.Effect{}, nil)
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"removed", "clipped", "deepest_cuts"} {
		if strings.Contains(string(text), key) {
			t.Errorf("%s in %s", key, text)
		}
	}
	var again Ceiling
	if err := json.Unmarshal(text, &again); err != nil || again.Cutting != nil {
		t.Errorf("%v, read as %+v", err, again)
	}
}

// An entry of schema 1 knows what each stage removed, and not what the chain did.
func TestCuttingOfAnEarlierVersion(t *testing.T) {
	const text = `{"schema":1,"tracks":[{"name":"quay","chain":[{"name":"clip","kind":"hard_clip","settings":{}}],
"boundaries":[{"stage":"source"},{"boundary":1,"stage":"clip"}],
"stages":[{"stage":"clip","kind":"hard_clip","ceiling":{"ceiling_dbfs":-1,"removed_db":-25.98,"deepest_cut_db":3}}]}]}`
	l, err := Parse(strings.NewReader(text), "old.json")
	if err != nil {
		t.Fatal(err)
	}
	track := &l.Tracks[0]
	near(t, "removed by the clip", track.Stages[0].Ceiling.removed(), -25.98)
	if track.Whole != nil || track.removed() != nil {
		t.Errorf("whole %+v", track.Whole)
	}
	if out := printed(t, false, func(p Printer) error { return p.ledger(l) }); strings.Contains(string(out),
		"25.98") {
		t.Errorf("a sum of the stages' is printed for the chain:\n%s", out)
	}
}
