package ledger

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// moved finds the one move of a figure at a stage.
func moved(t *testing.T, c Comparison, stage, figure string) Move {
	t.Helper()
	for _, m := range c.Moves {
		if m.Stage == stage && m.Figure == figure {
			return m
		}
	}
	t.Errorf("%s of %s did not move", figure, stage)
	return Move{}
}

func TestCompareMoves(t *testing.T) {
	c := Compare(one(nil), one(func(p []point) []point {
		p[2].peak, p[2].overs = -0.5, 600 // 0.08 dB lower
		p[3].loudness += 0.011            // more than the tolerance
		p[4].loudness, p[5].loudness = p[3].loudness, p[3].loudness
		return p
	}), DefaultToleranceDB)
	m := moved(t, c, "clip", "headroom_db")
	near(t, "by", m.By, 0.08)
	near(t, "old", m.Old, -0.58)
	near(t, "new", m.New, -0.5)
	if m.Word != "gained" || m.Unit != "dB" || m.Follows {
		t.Errorf("got %+v", m)
	}
	if m := moved(t, c, "clip", "sample_peak_dbfs"); m.Word != "fell" || !m.Follows {
		t.Errorf("the sample peak is headroom's mirror: %+v", m)
	}
	if m := moved(t, peakOnly(), "clip", "true_headroom_db"); m.Word != "lost" || *m.By != -0.2 || !m.Follows {
		t.Errorf("the true headroom is the true peak's mirror: %+v", m)
	}
	if m := moved(t, peakOnly(), "clip", "true_net_db"); m.Word != "lost" || *m.By != -0.2 || m.Follows {
		t.Errorf("the true net is the stage's own: %+v", m)
	}
	if m := moved(t, c, "clip", "change_db"); m.Word != "gained" || !m.Follows {
		t.Errorf("the change only repeats the headroom: %+v", m)
	}
	if m := moved(t, c, "hold", "change_db"); m.Word != "lost" || !m.Follows {
		t.Errorf("the hold only has less left to gain: %+v", m)
	}
	if m := moved(t, c, "clip", "overs"); m.Word != "rose" || *m.By != 88 {
		t.Errorf("got %+v", m)
	}
	if m := moved(t, c, "hold", "loudness_lufs"); m.Word != "rose" || *m.By != 0.011 || m.Follows {
		t.Errorf("got %+v", m)
	}
	if m := moved(t, c, "dither", "loudness_lufs"); !m.Follows {
		t.Errorf("what the hold did is listed at the hold: %+v", m)
	}
	for _, m := range c.Moves {
		if m.Stage == "source" || m.Stage == "drive" {
			t.Errorf("nothing moved at %s: %+v", m.Stage, m)
		}
	}
}

// peakOnly is a comparison in which only the true peak after the clip has moved.
func peakOnly() Comparison {
	return Compare(one(nil), one(func(p []point) []point { p[2].truePeak += 0.2; return p }), DefaultToleranceDB)
}

func TestCompareTolerance(t *testing.T) {
	by := func(db float64) *Ledger {
		return one(func(p []point) []point { p[5].truePeak += db; return p })
	}
	for _, tt := range []struct {
		db, tolerance float64
		moved         bool
	}{
		{0.01, 0.01, false}, {-0.01, 0.01, false}, {0.0101, 0.01, true}, {-0.0101, 0.01, true}, {0.0001, 0, true},
		{0, 0, false}, {0.5, 1, false},
	} {
		if c := Compare(one(nil), by(tt.db), tt.tolerance); c.Moved() != tt.moved {
			t.Errorf("%v dB with a tolerance of %v: moved is %v", tt.db, tt.tolerance, c.Moved())
		}
	}
}

// A figure that appears or vanishes has moved, however wide the tolerance.
func TestCompareNothingToSomething(t *testing.T) {
	quiet := one(func(p []point) []point { p[2].loudness = math.Inf(-1); return p })
	c := Compare(one(nil), quiet, 100)
	if m := moved(t, c, "clip", "loudness_lufs"); m.Word != "vanished" || m.By != nil || m.New != nil {
		t.Errorf("got %+v", m)
	}
	c = Compare(quiet, one(nil), 100)
	if m := moved(t, c, "clip", "net_db"); m.Word != "appeared" || m.By != nil || m.Old != nil {
		t.Errorf("got %+v", m)
	}
	if text, err := json.Marshal(c); err != nil || !c.Moved() {
		t.Errorf("%s: %v", text, err)
	}
}

func TestCompareCounts(t *testing.T) {
	new := one(nil)
	new.Tracks[0].Output.LimitedSamples = 1
	new.Tracks[0].Boundaries[0].NonFiniteSamples = 2
	new.Tracks[0].Boundaries[1].DCOffset[0] = 0.01
	c := Compare(one(nil), new, 1)
	moved(t, c, "output", "limited_samples")
	moved(t, c, "source", "nonfinite_samples")
	c = Compare(one(nil), new, 0.08) // 20 log10(1.01 - 1.25e-5) = 0.0863
	moved(t, c, "drive", "dc_offset")
	if n := len(Compare(one(nil), new, 0.09).Moves); n != 2 {
		t.Errorf("%d moves", n)
	}
}

// A change of the release's ceiling moves all headroom and no peak; that of the
// true peak says nothing new then.
func TestCompareCeiling(t *testing.T) {
	new := New("ledgerline 0.1.0", "Night Ferry", -0.5, "5e1f")
	new.Tracks = []Track{render("01 lantern quay", "", -0.5, chain(4, -18.31))}
	new.Sum()
	c := Compare(one(nil), new, DefaultToleranceDB)
	for _, m := range c.Moves {
		leads := m.Figure == "headroom_db" && m.Stage == "source"
		if !strings.HasSuffix(m.Figure, "headroom_db") || m.Word != "gained" || *m.By != 0.5 || m.Follows == leads {
			t.Errorf("got %+v", m)
		}
	}
	if len(c.Moves) != 12 {
		t.Errorf("%d moves of two figures at 6 boundaries", len(c.Moves))
	}
}

// Stages that only one chain has are left out; those after them are still compared.
func TestCompareAcrossAddedStage(t *testing.T) {
	trim := point{
		name: "trim", kind: "gain", peak: -3, truePeak: -2.98, loudness: -16.63,
		settings: map[string]any{"gain_db": -2.0},
	}
	new := one(func(p []point) []point {
		for k := 4; k < 6; k++ {
			p[k].peak, p[k].truePeak, p[k].loudness = -3, -2.98, -16.63
		}
		return append(p[:4:4], append([]point{trim}, p[4:]...)...)
	})
	c := Compare(one(nil), new, DefaultToleranceDB)
	if m := moved(t, c, "dither", "headroom_db"); *m.By != 2 || m.Word != "gained" {
		t.Errorf("got %+v", m)
	}
	for _, m := range c.Moves {
		if m.Stage == "trim" || m.Stage == "hold" {
			t.Errorf("got %+v", m)
		}
	}
}
