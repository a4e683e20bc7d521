package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"

	"ledgerline/stages"
)

// storm is the release when all goes wrong: a stage that loses headroom at equal
// loudness, failed requirements, limited samples, samples that are not finite,
// long and wide names, and what could steer a terminal.
func storm() *Ledger {
	l := ferry()
	points := chain(4, -18.31)
	points[3].kind, points[3].name = "gain", "a tilt filter of a very long name"
	points[3].peak, points[3].truePeak, points[3].loudness = 0.31, 0.94, -14.85
	points[3].holdsCeiling, points[3].settings = false, map[string]any{"gain_db": 0.0}
	for k := 4; k < len(points); k++ {
		points[k].peak, points[k].truePeak, points[k].loudness = 0.31, 0.94, -14.85
	}
	points[5].overs, points[5].over = 20124, 1.31
	points[5].settings = map[string]any{
		"sample_peak_max_dbfs": -1.0, "true_peak_max_dbtp": -1.0, "overs_max": int64(0),
	}
	t := render("04 夜のフェリー \x1b[31m, the long way round the harbour, second recall, with the bell",
		"", -1, points)
	t.Output.LimitedSamples = 20
	t.Boundaries[0].NonFiniteSamples = 2
	at := 1.234567
	t.Boundaries[0].FirstNonFiniteTimeS = &at
	l.Tracks = append([]Track{silence(), t}, l.Tracks[1])
	l.Sum()
	return l
}

func TestTableGolden(t *testing.T) {
	for name, l := range map[string]*Ledger{"ferry": ferry(), "storm": storm()} {
		golden(t, name+".txt", printed(t, false, func(p Printer) error { return p.ledger(l) }))
		golden(t, name+"_colour.txt", printed(t, true, func(p Printer) error { return p.ledger(l) }))
	}
}

// ledger prints everything that can be printed of a ledger.
func (p Printer) ledger(l *Ledger) error {
	for i := range l.Tracks {
		if err := p.Track(&l.Tracks[i]); err != nil {
			return err
		}
		fmt.Fprintln(p.Out)
	}
	if err := p.Variants(l); err != nil {
		return err
	}
	fmt.Fprintln(p.Out)
	return p.Summary(l)
}

// Colour only repeats what the text says without it.
func TestColourChangesNoText(t *testing.T) {
	calm := storm()
	for i := range calm.Tracks {
		for k, b := range calm.Tracks[i].Boundaries {
			calm.Tracks[i].Boundaries[k].LoudnessLUFS = plus(b.LoudnessLUFS, Level(float64(-k)))
		}
	}
	for l, later := range map[*Ledger]*Ledger{ferry(): revised(), storm(): calm} {
		c := Compare(l, later, DefaultToleranceDB)
		for _, print := range []func(Printer) error{
			func(p Printer) error { return p.ledger(l) },
			func(p Printer) error { return p.Comparison(&c) },
		} {
			bare, coloured := wide(t, false, 80, print), wide(t, true, 80, print)
			if bytes.Equal(bare, coloured) {
				t.Error("there is no colour")
			}
			if got := ansi.Strip(string(coloured)); got != string(bare) {
				t.Errorf("without its colour:\n%s\nwant\n%s", got, bare)
			}
			checkPlain(t, string(bare))
		}
	}
}

// checkPlain looks for what a plain text may not have: control codes, lines
// over 80 columns, spaces at their ends.
func checkPlain(t *testing.T, text string) {
	t.Helper()
	if i := strings.IndexFunc(text, func(r rune) bool {
		return r < ' ' && r != '\n' || r >= 0x7f && r < 0xa0
	}); i >= 0 {
		t.Errorf("control code at %q", text[i:min(i+10, len(text))])
	}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if w := ansi.StringWidth(line); w > 80 {
			t.Errorf("%d columns: %q", w, line)
		}
		if strings.TrimRight(line, " ") != line {
			t.Errorf("ends with spaces: %q", line)
		}
	}
}

// Figures and counts of any size keep the table within 80 columns.
// The heading has both rates where the chain changes it.
func TestHeadingOfAChangeOfRate(t *testing.T) {
	l := ferry()
	for k := range l.Tracks {
		bounds := l.Tracks[k].Boundaries
		bounds[len(bounds)-1].RateHz = 48000
	}
	text := string(printed(t, false, func(p Printer) error { return p.ledger(l) }))
	if n := strings.Count(text, "44100 to 48000 Hz"); n != len(l.Tracks) {
		t.Errorf("%d tracks of %d tell both rates:\n%s", n, len(l.Tracks), text)
	}
}

func TestTableWidth(t *testing.T) {
	l := storm()
	for i := range l.Tracks {
		for k := range l.Tracks[i].Boundaries {
			huge := -1.2345e300
			b := &l.Tracks[i].Boundaries[k]
			b.SamplePeakDBFS, b.LoudnessLUFS, b.HeadroomDB = &huge, &huge, &huge
		}
		for k := range l.Tracks[i].Stages {
			if c := l.Tracks[i].Stages[k].Ceiling; c != nil {
				c.Overs = 1 << 60
			}
		}
	}
	checkPlain(t, string(wide(t, false, 80, func(p Printer) error { return p.ledger(l) })))
}

func TestWords(t *testing.T) {
	x := func(v float64) *float64 { return &v }
	for _, tt := range []struct{ got, want string }{
		{signed(x(3.42)), "+3.42"}, {signed(x(-4)), "-4.00"}, {signed(x(0)), "0.00"}, {signed(x(-0.0049)), "0.00"},
		{signed(x(0.005)), "+0.01"}, {signed(nil), "--"}, {fixed(1.005e9), "1e+09"},
		{exact(-1), "-1.0000"}, {exact(-0.9999), "-0.9999"}, {exact(-0.98), "-0.9800"},
		{clock(0), "0:00.0"}, {clock(6.04), "0:06.0"}, {clock(59.96), "1:00.0"}, {clock(3725.5), "62:05.5"},
		{clock(1e300), "1e+300 s"},
		{count(9999999), "9999999"}, {count(-12345678), "-1.23e+07"},
		{many(1, "track"), "1 track"}, {many(int64(0), "over"), "0 overs"},
		{clean("a\x1b[2Jb\u202ec\nd\u200de"), "a?[2Jb?c?d\u200de"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, tt := range []struct {
		text string
		want []string
	}{
		{"", []string{""}},
		{"one two three four five", []string{"one two three", "four five"}},
		{"found -0.62 dBTP", []string{"found -0.62", "dBTP"}}, // a number stays whole
		{"averylongwordindeed x", []string{"averylongw...", "x"}},
	} {
		got := wrap(tt.text, 9)
		if strings.Join(got, "|") != strings.Join(tt.want, "|") {
			t.Errorf("wrap(%q) = %q, want %q", tt.text, got, tt.want)
		}
	}
}

// Where the lowest aim was not enough, the remark says so, and by how much.
func TestRemarkOfAPromiseThatFailed(t *testing.T) {
	l := ferry()
	track := &l.Tracks[0]
	track.Whole = &Whole{AimLoweredDB: 3}
	for _, tt := range []struct {
		truePeak float64
		want     string
	}{
		{-1, "lowered by 3 dB, so that the readings after it keep the ceiling"},
		{-0.7256, "lowered by 3 dB, which is not enough: the true peak is still 0.2744 dB over"},
	} {
		for k := 3; k < len(track.Boundaries); k++ { // from the hold on
			track.Boundaries[k].TruePeakDBTP = &tt.truePeak
		}
		text := string(printed(t, false, func(p Printer) error { return p.Track(track) }))
		if got := strings.Join(strings.Fields(text), " "); !strings.Contains(got, tt.want) {
			t.Errorf("%v dBTP: %q is not in\n%s", tt.truePeak, tt.want, text)
		}
	}
}

// A column's two decimals may read like the limit: what failed is printed in the digits it is
// judged by, and so is what a hold's aim was lowered by.
func TestRemarksHaveAllDigits(t *testing.T) {
	l := ferry()
	track := &l.Tracks[0]
	found := -0.9997
	last := len(track.Boundaries) - 1
	track.Boundaries[last].TruePeakDBTP = &found
	track.Requirements = Judge(stages.Requiring("delivery", stages.Settings{"true_peak_max_dbtp": -1.0}),
		track.Boundaries[last], ShortReadings{}, 0, &Whole{})
	track.Whole = &Whole{AimLoweredDB: 0.0394}
	text := string(printed(t, false, func(p Printer) error {
		return errors.Join(p.Track(track), p.Failures([]*Track{track}))
	}))
	for _, want := range []string{
		"true peak -0.9997 dBTP, limit -1.0000",
		"  rendered again with the hold's aim lowered by 0.0394 dB",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	track.Whole.AimLoweredDB = 0
	if text := string(printed(t, false, func(p Printer) error { return p.Track(track) })); strings.Contains(
		text, "again") {
		t.Errorf("nothing was rendered again:\n%s", text)
	}
}

// What a chain names of the short filters' readings is told under its table, in rows and in a comparison of
// masters; what it does not name is not.
func TestShortReadingsWhereAskedFor(t *testing.T) {
	l := ferry()
	track := &l.Tracks[0]
	track.Whole = &Whole{TruePeakBS1770DBTP: Level(-1), TruePeakSinc49DBTP: Level(-0.98), AimLoweredDB: 0.0547}
	hold := slices.IndexFunc(track.Chain, func(u stages.Use) bool { return u.Name == "hold" })
	end := len(track.Chain) - 1
	ask := func(settings map[string]any, more map[string]any) {
		track.Chain[hold].Settings, track.Chain[end].Settings = settings, more
	}
	was := *track
	was.Whole = &Whole{TruePeakBS1770DBTP: Level(-0.9), TruePeakSinc49DBTP: Level(-0.9)}
	for _, tt := range []struct {
		hold, measure      map[string]any
		table, rows, moved string
	}{
		{
			stages.Settings{"read_by": stages.WordList("exact")}, nil,
			"rendered again with the hold's aim lowered by 0.0547 dB", "", "",
		},
		{
			stages.Settings{"read_by": stages.WordList("bs1770")}, nil,
			"  read by bs1770 -1.00 dBTP; aim lowered by 0.0547 dB\n", "bs1770", "by bs1770 -0.90 -> -1.00 dBTP",
		},
		{stages.Settings{"read_by": stages.WordList("exact, bs1770, sinc49")}, nil,
			"  read by bs1770 -1.00 dBTP, by sinc49 -0.98 dBTP; aim lowered by 0.0547 dB\n",
			"bs1770 sinc49", "by bs1770 -0.90 -> -1.00 dBTP, by sinc49 -0.90 -> -0.98 dBTP"},
		{
			nil, stages.Settings{"true_peak_sinc49_max_dbtp": -1.0}, "  read by sinc49 -0.98 dBTP; aim lowered",
			"sinc49", "by sinc49 -0.90 -> -0.98 dBTP",
		},
	} {
		ask(tt.hold, tt.measure)
		if text := string(printed(t, false, func(p Printer) error { return p.Track(track) })); !strings.Contains(
			text, tt.table) {
			t.Errorf("%q is not in\n%s", tt.table, text)
		}
		text := string(wide(t, false, 0, func(p Printer) error { return p.Rows([]Row{track.Row()}) }))
		head, _, _ := strings.Cut(text, "\n")
		var named []string
		for _, word := range strings.Fields(head) {
			if word == "bs1770" || word == "sinc49" {
				named = append(named, word)
			}
		}
		if got := strings.Join(named, " "); got != tt.rows {
			t.Errorf("rows have %q, want %q:\n%s", got, tt.rows, text)
		}
		if got := MasterMoved(&was, track); got != tt.moved {
			t.Errorf("moved: %q, want %q", got, tt.moved)
		}
	}
}
