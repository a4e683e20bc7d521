package ledger

import (
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
)

// mastered is the ledger of one track whose whole chain has the given figures.
func mastered(loudness, truePeak, net, trueNet, removed float64) *Ledger {
	l := one(func(p []point) []point {
		for k := 3; k < len(p); k++ {
			p[k].loudness, p[k].truePeak = loudness, truePeak
		}
		return p
	})
	l.Tracks[0].Whole = &Whole{
		NetDB: Level(net), TrueNetDB: Level(trueNet), Cutting: Cutting{RemovedDB: Level(removed)},
	}
	l.Tracks[0].Output.SHA256 = strings.Repeat("7", int(-10*loudness))
	return l
}

// Each master that moved has a line of its own, each figure with its unit.
func TestCompareTellsTheMasters(t *testing.T) {
	was := mastered(-7.46, -1, 3.18, 3.1, -34.4)
	c := Compare(was, mastered(-6.98, -1, 3.66, 3.5, -31.1), DefaultToleranceDB)
	text := string(printed(t, false, func(p Printer) error { return p.Comparison(&c) }))
	want := "the masters\n  01 lantern quay: loudness -7.46 -> -6.98 LUFS, net +3.18 -> +3.66 dB, " +
		"true net +3.10 -> +3.50 dB, removed -34.40 -> -31.10 dB\n\n"
	if !strings.HasPrefix(text, want) {
		t.Errorf("got\n%s\nwant it to begin with\n%s", text, want)
	}
	if !strings.Contains(text, "\n1 master changed; ") {
		t.Errorf("got\n%s", text)
	}
}

// A master that changed and of which no figure moved, such as one with another tag, is named all the same:
// there are as many names as the last line counts.
func TestCompareNamesEveryMasterThatChanged(t *testing.T) {
	was, is := mastered(-7.46, -1, 3.18, 3.1, -34.4), mastered(-6.98, -1, 3.66, 3.5, -31.1)
	for _, name := range []string{"02 breakwater", "03 lantern", "04 as it was"} {
		for _, delivery := range []string{"", "disc"} {
			t := was.Tracks[0]
			t.Name, t.Delivery = name, delivery
			was.Tracks = append(was.Tracks, t)
			if name != "04 as it was" {
				t.Output.SHA256, t.Tags = "other", &audiofile.Tags{Artist: "The Harbour Lights"}
			}
			is.Tracks = append(is.Tracks, t)
		}
	}
	c := Compare(was, is, DefaultToleranceDB)
	if all := len(c.Masters) + len(c.Unmoved); all != c.Totals.OutputsDiffer || all != 5 {
		t.Errorf("%d masters are named, %d changed, want 5", all, c.Totals.OutputsDiffer)
	}
	const names = "02 breakwater; 02 breakwater (disc); 03 lantern; 03 lantern (disc)"
	text := string(printed(t, false, func(p Printer) error { return p.Comparison(&c) }))
	text = strings.Join(strings.Fields(text), " ")
	if !strings.Contains(text, "-31.10 dB other bytes, but no figure moved: "+names+" what was changed ") {
		t.Errorf("got\n%s", text)
	}
	marked := string(printed(t, true, func(p Printer) error { return c.Markdown(p.Out) }))
	if !strings.Contains(marked, "\n- other bytes, but no figure moved: "+names+"\n\n") {
		t.Errorf("got\n%s", marked)
	}
}

// Red is for losses alone: a higher true peak beyond the ceiling, and less net
// although no less is removed. Clipping less buys less, and is a choice.
func TestCompareCallsOnlyALossWorse(t *testing.T) {
	was := mastered(-7.46, -1, 3.18, 3.1, -34.4)
	for _, tt := range []struct {
		name string
		new  *Ledger
		want string
	}{
		{"clipped less", mastered(-8, -1, 2.6, 2.5, -38), ""},
		{"clipped more for less", mastered(-8, -1, 2.6, 2.5, -30), "net_db true_net_db"},
		{"as much removed for less", mastered(-8, -1, 2.6, 3.1, -34.4), "net_db"},
		{"turned up", mastered(-7, -1, 3.6, 3.5, -30), ""},
		{"over the ceiling", mastered(-7.46, -0.9, 3.18, 3.2, -34.4), "true_peak_dbtp"},
		{"up, but below the ceiling", mastered(-7.46, -1.2, 3.18, 3.2, -34.4), ""},
	} {
		c := Compare(was, tt.new, DefaultToleranceDB)
		var worse []string
		for _, x := range c.Masters[0].Figures {
			if x.Worse {
				worse = append(worse, x.Figure)
			}
			if x.Worse != (x.tone() == alarm) {
				t.Errorf("%s: %+v is painted %v", tt.name, x, x.tone())
			}
		}
		if got := strings.Join(worse, " "); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}

// A clip that is driven less buys less and removes less. None of it is red.
func TestLessClippingIsNotRed(t *testing.T) {
	less := one(func(p []point) []point {
		p[1].settings["gain_db"] = 3.0
		p[1].peak, p[1].truePeak, p[1].loudness = 2, 2.38, -15.31
		p[2].peak, p[2].truePeak, p[2].loudness, p[2].overs = -0.6, -0.1, -15.4, 200
		p[2].effect.Removed = 1
		for k := 3; k < len(p); k++ {
			p[k].loudness = -15.41
		}
		return p
	})
	c := Compare(one(nil), less, DefaultToleranceDB)
	m := moved(t, c, "clip", "net_db")
	if m.Word != "lost" || m.Worse {
		t.Errorf("got %+v", m)
	}
	for _, m := range c.Moves {
		if m.Worse || m.tone() == alarm {
			t.Errorf("red: %+v", m)
		}
	}
}

// A stage that costs headroom at equal loudness, and now more of it, is a loss;
// so are overs that nothing after them takes off.
func TestCompareMarksLosses(t *testing.T) {
	c := Compare(one(nil), one(func(p []point) []point {
		p[4].peak, p[4].truePeak, p[4].loudness = -0.5, -0.4, -14.9
		p[5].peak, p[5].truePeak, p[5].loudness, p[5].overs = -0.5, -0.4, -14.9, 7
		return p
	}), DefaultToleranceDB)
	if m := moved(t, c, "dither", "net_db"); !m.Worse {
		t.Errorf("got %+v", m)
	}
	if m := moved(t, c, "delivery", "overs"); !m.Worse {
		t.Errorf("got %+v", m)
	}
	more := one(func(p []point) []point { p[2].overs = 900; return p })
	c = Compare(one(nil), more, DefaultToleranceDB)
	if m := moved(t, c, "clip", "overs"); m.Worse {
		t.Errorf("the hold takes them off: %+v", m)
	}
}

// A record of an earlier version has fewer figures. They have not appeared in the
// record: they were not recorded.
func TestCompareWithAnEarlierRecord(t *testing.T) {
	was, is := one(nil), one(nil)
	is.Tracks[0].Whole = &Whole{NetDB: Level(3.7), TrueNetDB: Level(4), Cutting: Cutting{RemovedDB: Level(-30)}}
	was.Tracks[0].Whole = nil
	for k := range was.Tracks[0].Stages {
		was.Tracks[0].Stages[k].TrueNetDB = nil
	}
	for _, c := range []Comparison{Compare(was, is, DefaultToleranceDB), Compare(is, was, DefaultToleranceDB)} {
		if !c.Same() || len(c.Masters) > 0 {
			t.Errorf("got %+v", c)
		}
	}
}

// What does not move is left out of a master's words, and of what has no master
// before there is nothing to say.
func TestMasterMoved(t *testing.T) {
	was, is := mastered(-12.88, -1, 4.46, 4.4, -23.4), mastered(-13.36, -1, 4.11, 4.4, -25)
	want := "loudness -12.88 -> -13.36 LUFS, net +4.46 -> +4.11 dB, removed -23.40 -> -25.00 dB"
	if got := MasterMoved(&was.Tracks[0], &is.Tracks[0]); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := MasterMoved(nil, &is.Tracks[0]) + MasterMoved(&was.Tracks[0], nil) +
		MasterMoved(&is.Tracks[0], &is.Tracks[0]); got != "" {
		t.Errorf("got %q", got)
	}
}
