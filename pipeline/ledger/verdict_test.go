package ledger

import (
	"strings"
	"testing"
)

// stage is what a stage of a kind with a ceiling of -1 dBFS did: it changed the
// sample peak and the true peak by so many dB, and the loudness by so many LU.
func stage(kind string, sample, truePeak, loudness float64) StageResult {
	before := point{peak: -1, truePeak: -0.62, loudness: -14}
	after := point{peak: -1 + sample, truePeak: -0.62 + truePeak, loudness: -14 + loudness}
	removed := -40.0
	c := &Ceiling{CeilingDBFS: -1, Cutting: &Cutting{RemovedDB: &removed}}
	return NewStageResult(kind, kind, NewBoundary(0, "source", before.reading(), ferryRate, -1),
		NewBoundary(1, kind, after.reading(), ferryRate, -1), loudness, c)
}

// idle is a stage that removed nothing, or that has no ceiling.
func (s StageResult) idle() StageResult {
	s.Ceiling = nil
	return s
}

// clamping is a dither that clipped so many samples.
func (s StageResult) clamping(n int64) StageResult {
	s.Ceiling.ClampedSamples = n
	return s
}

// What the table's word and the lines under it say about a stage.
func TestVerdict(t *testing.T) {
	for name, tt := range map[string]struct {
		stage        StageResult
		word, remark string
	}{
		"turned up":   {stage("gain", 4, 4, 4).idle(), "lost", ""},
		"turned down": {stage("gain", -4, -4, -4).idle(), "gained", ""},
		"both lower":  {stage("hard_clip", -5.9, -4.24, -0.21), "gained", ""},
		"only the true peak": {
			stage("ceiling_hold", 0.01, -1.46, 0), "gained",
			"ceiling_hold: the true peak is 1.46 dB lower, but the sample peak is 0.01 dB higher",
		},
		"sample peak the same": {
			stage("ceiling_hold", 0, -1.46, -0.01), "gained",
			"ceiling_hold: the true peak is 1.46 dB lower, the sample peak is the same",
		},
		"the true peak grew": {
			stage("hard_clip", -0.1, 0.3, 0), "lost",
			"hard_clip: the true peak is 0.30 dB higher, but the sample peak is 0.10 dB lower",
		},
		"it grew a little": {stage("hard_clip", -1, 0.3, 0), "gained", ""},
		"lost for nothing": {
			stage("tilt", 1.29, 1.4, 0).idle(), "LOST",
			"tilt lost 1.29 dB of headroom at equal loudness, 1.40 dB counted from true peaks",
		},
		"lost alike": {
			stage("tilt", 1.3, 1.3, 0).idle(), "LOST", "tilt lost 1.30 dB of headroom at equal loudness",
		},
		"lost by samples only": {stage("tilt", 0.3, 0, 0).idle(), "lost", ""},
		"lost by true peak only": {
			stage("tilt", 0, 0.3, 0).idle(), "lost",
			"tilt: the true peak is 0.30 dB higher, the sample peak is the same",
		},
		"dearly bought": {
			stage("hard_clip", -0.5, -0.4, -0.8), "gained", "hard_clip cost more loudness than it gained headroom",
		},
		"grown back":         {stage("oversampled_clip", 0.02, 0.01, 0), "lost", ""},
		"dither of few bits": {stage("dither", 0.04, 0.05, 0).idle(), "lost", ""},
		"dither by a hair":   {stage("dither", 0, -0.01, 0), "", ""},
		"a dither that clips": {
			stage("dither", -5.9, -4.59, -0.16).clamping(3955), "clamped",
			"warning: dither took more than 4 codes off 3955 samples: it is not a clipper; put a clip and a " +
				"hold before it",
		},
		"by one sample": {
			stage("dither", -0.1, 0, 0).clamping(1), "clamped",
			"warning: dither took more than 4 codes off 1 sample: it is not a clipper; put a clip and a " +
				"hold before it",
		},
		"a hold that clamps": {stage("ceiling_hold", -1, -1, 0).clamping(3), "gained", ""},
		"nothing":            {stage("measure", 0, 0, 0), "", ""},
	} {
		if got, _ := tt.stage.outcome().verdict(); got != tt.word {
			t.Errorf("%s: %q, want %q", name, got, tt.word)
		}
		if got, _ := tt.stage.remark(); got != tt.remark {
			t.Errorf("%s: %q, want %q", name, got, tt.remark)
		}
	}
}

// No net is red but where headroom was lost for nothing, and a dither that clips
// is not praised.
func TestVerdictTones(t *testing.T) {
	hold := stage("ceiling_hold", 0, -1.46, -0.01).outcome()
	if a, b := hold.toneOf(hold.net), hold.toneOf(hold.trueNet); a != notice || b != good {
		t.Errorf("a hold of the true peak: tones %v and %v", a, b)
	}
	tilt := stage("tilt", 1, 1, 0).idle().outcome()
	if a, b := tilt.toneOf(tilt.net), tilt.toneOf(tilt.trueNet); a != alarm || b != alarm {
		t.Errorf("lost for nothing: tones %v and %v", a, b)
	}
	clips := stage("dither", -5.9, -4.59, -0.16).clamping(1).outcome()
	if a, b := clips.toneOf(clips.net), clips.toneOf(clips.trueNet); a != plain || b != plain {
		t.Errorf("a dither that clips: tones %v and %v", a, b)
	}
}

// What the table of variants says of a whole chain.
func TestBought(t *testing.T) {
	clip, tilt := stage("hard_clip", 0, 0, 0), stage("tilt", 0, 0, 0).idle()
	dither := stage("dither", 0, 0, 0)
	for _, tt := range []struct {
		net, trueNet float64
		stages       []StageResult
		word         string
	}{
		{5.69, 4.03, []StageResult{clip}, "bought"}, {-0.01, 1.46, []StageResult{clip}, "bought"},
		{0.02, -0.5, []StageResult{tilt}, "lost"}, {-0.03, -0.03, []StageResult{tilt, tilt}, "LOST"},
		{-1.44, -0.04, []StageResult{tilt, clip}, "lost"}, {-0.03, -0.03, []StageResult{tilt, dither}, "lost"},
		{0, 0, []StageResult{clip}, ""}, {0, 0.004, []StageResult{clip}, ""},
		{5.74, 4.43, []StageResult{clip, stage("dither", 0, 0, 0).clamping(9)}, "clamped"},
	} {
		track := &Track{Whole: &Whole{NetDB: &tt.net, TrueNetDB: &tt.trueNet}, Stages: tt.stages}
		if got, _ := track.outcome().bought(); got != tt.word {
			t.Errorf("nets %v and %v: %q, want %q", tt.net, tt.trueNet, got, tt.word)
		}
	}
}

// An entry of an earlier version has no figures of true peaks and no whole chain:
// they are made from those it has.
func TestNetsOfAnEarlierVersion(t *testing.T) {
	now := render("01 lantern quay", "", -1, chain(4, -18.31))
	old := render("01 lantern quay", "", -1, chain(4, -18.31))
	old.Whole = nil
	for k := range old.Boundaries {
		old.Boundaries[k].TrueHeadroomDB = nil
		near(t, "true headroom", old.Boundaries[k].trueHeadroom(), *now.Boundaries[k].TrueHeadroomDB)
	}
	for k := range old.Stages {
		old.Stages[k].TrueNetDB = nil
		near(t, "true net", old.Stages[k].trueNet(), *now.Stages[k].TrueNetDB)
	}
	near(t, "net of the chain", old.whole().NetDB, *now.Whole.NetDB)
	near(t, "true net of the chain", old.whole().TrueNetDB, *now.Whole.TrueNetDB)
	was := Ledger{Schema: 1, Tracks: []Track{old}, CeilingDBFS: -1}
	if c := Compare(&was, &Ledger{Schema: Schema, Tracks: []Track{now}, CeilingDBFS: -1}, 0); c.Moved() {
		t.Errorf("moved: %+v", c.Moves)
	}
}

// The true peak at the end is judged by the ceiling in force there: that of the
// last stage that has one, and not the release's.
func TestTrueOvers(t *testing.T) {
	l := ferry()
	for _, tt := range []struct {
		ceilingDBFS float64 // of the chain's last stage with a ceiling
		want        int
	}{{-0.98, 0}, {-0.9801, 3}, {-2, 3}, {0, 0}} {
		for i := range l.Tracks {
			if n := len(l.Tracks[i].Stages); n > 2 {
				l.Tracks[i].Stages[n-1].Ceiling.CeilingDBFS = tt.ceilingDBFS
			}
		}
		l.Sum()
		if got := l.Totals.TrueOvers; got != tt.want+1 { // and the plain variant, +0.1 dBTP at -1
			t.Errorf("a last ceiling of %v dBFS: %d tracks over, want %d", tt.ceilingDBFS, got, tt.want+1)
		}
	}
	bare := New("ledgerline 0.1.0", "Night Ferry", -0.7, "5e1f")
	bare.Tracks = []Track{render("01 lantern quay", "", -0.7, chain(0, -18.31)[:2])}
	bare.Sum()
	if bare.Totals.TrueOvers != 1 {
		t.Error("-0.62 dBTP is over the release's ceiling of -0.7 where no stage has one")
	}
	if text := string(printed(t, false, func(p Printer) error { return p.Summary(bare) })); !strings.Contains(
		text, "0 overs, true peak over the ceiling in 1 of 1 track") {
		t.Errorf("the last line is %q", text)
	}
	if text := string(printed(t, false, func(p Printer) error { return p.Summary(l) })); !strings.Contains(text,
		"true peak over the ceiling in 1 of 4 renders") {
		t.Errorf("the last line is %q", text)
	}
}

// Where nothing could be rendered, the last line does not count what there is not.
func TestVerdictOfARunThatRenderedNothing(t *testing.T) {
	l := New("ledgerline 0.1.0", "Night Ferry", -1, "5e1f")
	l.Sum()
	text := string(printed(t, false, func(p Printer) error { return p.Verdict(l.Brief(), 3, nil) }))
	if want := "Night Ferry: no track was rendered, 3 renders FAILED\n"; text != want {
		t.Errorf("got %q, want %q", text, want)
	}
}

// Papers that could not be written are failures as renders are.
func TestVerdictOfARunThatCouldNotWritePapers(t *testing.T) {
	l := ferry()
	for _, tt := range []struct {
		papers []string
		want   string
	}{
		{[]string{"disc/sheet.txt"}, ", 1 render FAILED, disc/sheet.txt FAILED, "},
		{[]string{"a/1", "a/2", "b/1", "b/2", "b/3"}, ", 1 render FAILED, a/1, a/2, b/1, b/2 and 1 more FAILED, "},
	} {
		text := string(printed(t, false, func(p Printer) error { return p.Verdict(l.Brief(), 1, tt.papers) }))
		if !strings.Contains(text, tt.want) {
			t.Errorf("got %q, want in it %q", text, tt.want)
		}
	}
}
