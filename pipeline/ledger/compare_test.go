package ledger

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// revised is the release a month later: the drive of one track raised, one clip
// finer, one stage renamed, one mix new, a track gone and a track come.
func revised() *Ledger {
	l := ferry()
	l.Tool = "ledgerline 0.2.0"
	finer := chain(4, -18.31)
	finer[2].settings = map[string]any{"ceiling_dbfs": -1.0, "factor": int64(16)}
	finer[2].over, finer[2].overs, finer[2].peak, finer[2].truePeak = 0.55, 498, -0.45, 0.07
	louder := chain(7, -14.02)
	louder[2].peak, louder[2].truePeak, louder[2].loudness, louder[2].overs = -0.3, 0.31, -7.75, 900
	for k := 3; k < len(louder); k++ {
		louder[k].loudness = -7.8
	}
	louder[3].name = "last wall"
	l.Tracks = []Track{
		render("01 lantern quay", "", -1, finer),
		render("02 breakwater", "", -1, louder),
		render("03 last boat", "", -1, chain(3, -13.1)),
		render("04 slack water", "", -1, chain(3, -13.1)),
	}
	l.Tracks[1].Source.SHA256 = "cc02 breakwater"
	l.Tracks[1].Output.SHA256 = "dd02 breakwater"
	l.Tracks[2].Output.SHA256 = "dd03 last boat"
	l.Sum()
	return l
}

func TestCompareGolden(t *testing.T) {
	c := Compare(ferry(), revised(), DefaultToleranceDB)
	golden(t, "compare.txt", printed(t, false, func(p Printer) error { return p.Comparison(&c) }))
	golden(t, "compare_colour.txt", printed(t, true, func(p Printer) error { return p.Comparison(&c) }))
	golden(t, "compare.md", printed(t, false, func(p Printer) error { return c.Markdown(p.Out) }))
	golden(t, "compare.json", printed(t, false, func(p Printer) error { return c.Encode(p.Out) }))
	narrow := string(wide(t, false, 80, func(p Printer) error { return p.Comparison(&c) }))
	golden(t, "compare_80.txt", []byte(narrow))
	checkPlain(t, narrow)
}

func TestCompareSame(t *testing.T) {
	c := Compare(ferry(), ferry(), 0)
	if !c.Same() || c.Moved() {
		t.Errorf("the same ledgers differ: %+v", c)
	}
	want := "no differences in 4 renders\n" // of three tracks
	if got := string(printed(t, true, func(p Printer) error { return p.Comparison(&c) })); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := string(printed(t, true, func(p Printer) error { return c.Markdown(p.Out) })); got !=
		"**no differences in 4 renders**\n" {
		t.Errorf("got %q", got)
	}
}

// Where every track has been rendered once, tracks are counted.
func TestCompareSameTracks(t *testing.T) {
	one := func() *Ledger {
		l := ferry()
		l.Tracks = slices.DeleteFunc(l.Tracks, func(t Track) bool { return t.Variant+t.Delivery != "" })
		return l
	}
	c := Compare(one(), one(), 0)
	if got, want := c.Summary(), "no differences in 3 tracks"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// A ledger that was written and read is the one that was written, whatever its
// figures: comparing finds nothing, even without tolerance.
func TestCompareWithItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := New("ledgerline 0.1.0", "Night Ferry", rapid.Float64Range(-20, 0).Draw(t, "ceiling"), "5e1f")
		for _, name := range []string{"02 breakwater", "01 lantern quay"} {
			points := chain(rapid.Float64Range(-20, 20).Draw(t, "drive"),
				rapid.Float64Range(-60, 0).Draw(t, "loudness"))
			points[2].settings["factor"] = rapid.SampledFrom([]any{int64(2), int64(4)}).Draw(t, "factor")
			points[1].settings["gain_db"] = rapid.Float64Range(-60, 60).Draw(t, "gain")
			points = points[:rapid.IntRange(1, len(points)).Draw(t, "stages")]
			l.Tracks = append(l.Tracks, render(name, rapid.SampledFrom([]string{"", "plain"}).Draw(t, "variant"),
				l.CeilingDBFS, points))
		}
		l.Sum()
		var text bytes.Buffer
		if err := l.Encode(&text); err != nil {
			t.Fatal(err)
		}
		read, err := Parse(&text, "ledger.json")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(l, read); diff != "" {
			t.Fatalf("-written +read:\n%s", diff)
		}
		if c := Compare(l, read, 0); !c.Same() {
			t.Fatalf("%+v", c)
		}
	})
}

// one is a ledger of one track whose chain is changed by edit.
func one(edit func(points []point) []point) *Ledger {
	l := New("ledgerline 0.1.0", "Night Ferry", -1, "5e1f")
	points := chain(4, -18.31)
	if edit != nil {
		points = edit(points)
	}
	l.Tracks = []Track{render("01 lantern quay", "", -1, points)}
	l.Tracks[0].Recipe = "7"
	l.Tracks[0].Matched = &Extra{File: "masters/matched/01 lantern quay.wav", GainDB: -1.5}
	l.Sum()
	return l
}

// list is what was changed, a change a line.
func (c *Comparison) list() string {
	var lines []string
	for _, change := range c.Changes {
		lines = append(lines, change.String())
	}
	return strings.Join(lines, "\n")
}

func TestCompareChains(t *testing.T) {
	for _, tt := range []struct {
		name string
		edit func(p []point) []point
		want string
	}{
		{
			"a setting", func(p []point) []point { p[2].settings["factor"] = int64(4); return p },
			"stage clip: factor 8 -> 4",
		},
		{
			"a setting less", func(p []point) []point { delete(p[5].settings, "loudness_max_lufs"); return p },
			"stage delivery: loudness_max_lufs -9 -> not set",
		},
		{
			"a setting more", func(p []point) []point { p[5].settings["overs_max"] = int64(0); return p },
			"stage delivery: overs_max not set -> 0",
		},
		{"a kind", func(p []point) []point {
			p[2].kind = "hard_clip"
			delete(p[2].settings, "factor")
			return p
		}, "stage clip: kind oversampled_clip -> hard_clip\nstage clip: factor 8 -> not set"},
		{
			"removed", func(p []point) []point { return append(p[:3:3], p[4:]...) },
			"stage hold: gone, a ceiling_hold",
		},
		{"added", func(p []point) []point {
			trim := point{
				name: "trim", kind: "gain", peak: -1, truePeak: -0.98, loudness: -14.63,
				settings: map[string]any{"gain_db": 0.0},
			}
			return append(p[:4:4], append([]point{trim}, p[4:]...)...)
		}, "stage trim: new, a gain"},
		{"renamed", func(p []point) []point { p[2].name = "soften"; return p }, "stage soften: was named clip"},
		{"renamed and set", func(p []point) []point { p[1].name, p[1].settings["gain_db"] = "push", 5.0; return p },
			"stage push: was named drive\nstage push: gain_db 4 -> 5"},
		{"two renamed", func(p []point) []point { p[2].name, p[3].name = "soften", "wall"; return p },
			"stage soften: was named clip\nstage wall: was named hold"},
		{"another kind in its place", func(p []point) []point {
			p[1].name, p[1].kind = "soften", "hard_clip"
			return p
		},
			"stage drive: gone, a gain\nstage soften: new, a hard_clip"},
		{"one kind, but elsewhere", func(p []point) []point {
			p[1].name = "push"
			return []point{p[0], p[2], p[3], p[4], p[5], p[1]}
		}, "stage drive: gone, a gain\nstage push: new, a gain"},
		{
			"moved to the end", func(p []point) []point { return []point{p[0], p[2], p[3], p[4], p[5], p[1]} },
			"stage drive: moved from place 1 -> 5",
		},
		{
			"swapped", func(p []point) []point { p[1], p[2] = p[2], p[1]; return p },
			"stage clip: moved from place 2 -> 1",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := Compare(one(nil), one(tt.edit), math.Inf(1))
			if got := c.list(); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

func TestCompareRelease(t *testing.T) {
	for _, tt := range []struct {
		name string
		edit func(l *Ledger)
		want string
	}{
		{"tool", func(l *Ledger) { l.Tool = "ledgerline 0.2.0" }, "tool: ledgerline 0.1.0 -> ledgerline 0.2.0"},
		{"title", func(l *Ledger) { l.Title = "" }, "title: Night Ferry -> empty"},
		{"ceiling", func(l *Ledger) { l.CeilingDBFS = -0.8 }, "release's ceiling: -1 -> -0.8 dBFS"},
		{
			"meaning", func(l *Ledger) {
				l.ReleaseSHA256 = "77"
			}, "release file: its meaning changed, but nothing that a ledger records",
		},
		{
			"meaning explained", func(l *Ledger) { l.ReleaseSHA256, l.Title = "77", "Ferry" },
			"title: Night Ferry -> Ferry",
		},
		{
			"mix", func(l *Ledger) { l.Tracks[0].Source.SHA256 = "0123456789abcdef" },
			"mix: new content, aa01 lan -> 01234567",
		},
		{
			"mix elsewhere", func(l *Ledger) { l.Tracks[0].Source.File = "recall/01 lantern quay.wav" },
			"mix: folder mixes -> recall",
		},
		{
			"mix of another rate", func(l *Ledger) { l.Tracks[0].Source.RateHz = 48000 },
			"mix: rate_hz 44100 -> 48000",
		},
		{"encoding", func(l *Ledger) { l.Tracks[0].Output.Encoding = "pcm16" }, "output encoding: pcm24 -> pcm16"},
		{
			"folder", func(l *Ledger) { l.Tracks[0].Output.File = "final/01 lantern quay.wav" },
			"output folder: masters -> final",
		},
		{"removed", func(l *Ledger) { l.Tracks[0].Removed = &Extra{File: "masters/removed/01 lantern quay.wav"} },
			"removed file: now written, to masters/removed"},
		{
			"file", func(l *Ledger) { l.Tracks[0].Output.File = "masters/01.wav" },
			"output file: masters/01 lantern quay.wav -> masters/01.wav",
		},
		{
			"bytes", func(l *Ledger) { l.Tracks[0].Output.SHA256 = "77" },
			"master: different bytes, although nothing recorded changed and nothing moved",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			new := one(nil)
			tt.edit(new)
			c := Compare(one(nil), new, DefaultToleranceDB)
			if got := c.list(); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
			if c.Moved() || c.Same() {
				t.Errorf("moved %v, same %v", c.Moved(), c.Same())
			}
		})
	}
}

// A release file that lost a track means something else because of that.
func TestCompareReleaseWithoutTrack(t *testing.T) {
	new := ferry()
	new.Tracks, new.ReleaseSHA256 = new.Tracks[1:], "77"
	for _, c := range []Comparison{
		Compare(ferry(), new, DefaultToleranceDB), Compare(new, ferry(), DefaultToleranceDB),
	} {
		if got := c.list(); got != "" {
			t.Errorf("besides the track that is gone or new: %s", got)
		}
	}
}

// A change made in every track is listed once, others with the tracks' names.
func TestCompareScope(t *testing.T) {
	all, some := ferry(), ferry()
	for i := range all.Tracks {
		all.Tracks[i].Output.Encoding = "pcm16"
	}
	some.Tracks[1].Output.Encoding, some.Tracks[3].Output.Encoding = "pcm16", "pcm16"
	for _, tt := range []struct {
		new  *Ledger
		want string
	}{
		{all, " (every track)"},
		{some, " (02 breakwater; 03 last boat (plain))"},
	} {
		c := Compare(ferry(), tt.new, DefaultToleranceDB)
		if len(c.Changes) != 1 || c.Changes[0].scope() != tt.want {
			t.Errorf("got %+v, want one change%s", c.Changes, tt.want)
		}
	}
}

func TestCompareRequirements(t *testing.T) {
	loud := one(func(p []point) []point { p[5].loudness = -8; return p })
	c := Compare(one(nil), loud, DefaultToleranceDB)
	if m := c.Moves[0]; m.Figure != "loudness_max_lufs" || m.Word != "now fails" || m.Stage != "delivery" {
		t.Errorf("the worst is %+v", m)
	}
	c = Compare(loud, one(nil), DefaultToleranceDB)
	if m := moved(t, c, "delivery", "loudness_max_lufs"); m.Word != "now met" {
		t.Errorf("got %+v", m)
	}
	stricter := one(func(p []point) []point { p[5].settings["overs_max"] = int64(-1); return p })
	c = Compare(one(nil), stricter, DefaultToleranceDB)
	if m := moved(t, c, "delivery", "overs_max"); m.Word != "now fails" {
		t.Errorf("got %+v", m)
	}
}

func TestCompareExtras(t *testing.T) {
	new := one(nil)
	new.Tracks[0].Matched.GainDB = -1.25
	c := Compare(one(nil), new, DefaultToleranceDB)
	if m := moved(t, c, "output", "matched_gain_db"); m.Word != "rose" || *m.By != 0.25 || len(c.Changes) != 0 {
		t.Errorf("got %+v", c)
	}
	new.Tracks[0].Matched = nil
	c = Compare(one(nil), new, DefaultToleranceDB)
	if got := c.list(); got != "matched file: no longer written" || c.Moved() {
		t.Errorf("got %s, %+v", got, c.Moves)
	}
}

// What each sort of move looks like in print.
func TestCompareShown(t *testing.T) {
	new := one(func(p []point) []point {
		p[4].loudness, p[5].loudness, p[5].overs = math.Inf(-1), -8, 3
		p[5].settings["overs_max"] = int64(0)
		return p
	})
	new.Tracks[0].Source.DurationS = 6.5
	new.Tracks[0].Boundaries[0].DCOffset[1] = 0.0125
	new.Tracks[0].Boundaries[0].NonFiniteSamples = 1 << 40
	new.Tracks[0].Matched.GainDB = -1.4997
	c := Compare(one(nil), new, 0.0001)
	golden(t, "compare_sorts.txt", printed(t, false, func(p Printer) error { return p.Comparison(&c) }))
}

// Losses first, then what appears, then the larger move.
func TestCompareOrder(t *testing.T) {
	loud := revised()
	loud.Tracks[1].Requirements[0].Passed = false
	c := Compare(ferry(), loud, DefaultToleranceDB)
	last := Move{Worse: true, weight: math.Inf(1)}
	for _, m := range c.Moves {
		if m.Worse && !last.Worse || m.Worse == last.Worse && m.weight > last.weight {
			t.Errorf("%+v comes after a lesser one", m)
		}
		last = m
	}
	if len(c.Moves) < 10 || !c.Moves[0].Worse {
		t.Errorf("only %d moves, the first of them %+v", len(c.Moves), c.Moves[0])
	}
}

func TestMarkdownEscapes(t *testing.T) {
	if got, want := escape("a|b <c> `d` *e* [f](g) h_i"),
		"a\\|b &lt;c> \\`d\\` \\*e\\* \\[f\\](g) h\\_i"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	l := one(nil)
	l.Tracks[0].Name = "a | b\n# c"
	c := Compare(l, one(nil), 0)
	text := string(printed(t, false, func(p Printer) error { return c.Markdown(p.Out) }))
	if !strings.Contains(text, `track gone: a \| b?\# c`) {
		t.Errorf("got %s", text)
	}
}
