package ledger

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
)

// pointers are the tracks of a ledger as a choice of them.
func pointers(l *Ledger) []*Track {
	var all []*Track
	for i := range l.Tracks {
		all = append(all, &l.Tracks[i])
	}
	return all
}

// harbour is a release of names of every sort: with figures of the whole chain
// and without, of a track that failed, of variants, of wide letters.
func harbour() *Ledger {
	l := ferry()
	worst := storm()
	l.Tracks = append(l.Tracks, worst.Tracks[0], worst.Tracks[2])
	long := render("05 the long way round the harbour, second recall", "plain", -1, chain(3, -13.1)[:3])
	l.Tracks = append(l.Tracks, long)
	for i := range l.Tracks {
		t := &l.Tracks[i]
		if i%2 == 0 {
			t.Whole = &Whole{NetDB: Level(5.18), TrueNetDB: Level(4.03), Cutting: Cutting{
				RemovedDB: Level(-22.71), RemovedWorst400ms: &Window{TimeS: 1.2, DB: Level(-9.94)},
			}}
		}
	}
	l.Sum()
	return l
}

func TestRowsGolden(t *testing.T) {
	for _, width := range []int{0, 60, 80, 120} {
		for _, colour := range []bool{false, true} {
			name := fmt.Sprintf("rows_%d.txt", width)
			if colour {
				name = fmt.Sprintf("rows_%d_colour.txt", width)
			}
			golden(t, name, wide(t, colour, width, func(p Printer) error { return p.Rows(harbour().Brief().Rows) }))
		}
	}
}

// wide is printed for a terminal of so many columns.
func wide(t *testing.T, colour bool, width int, print func(Printer) error) []byte {
	t.Helper()
	return printed(t, colour, func(p Printer) error {
		p.Columns = width
		return print(p)
	})
}

// A terminal of 60 columns and more is kept to, each figure stays, and a variant
// keeps its name.
func TestRowsKeepToTheTerminal(t *testing.T) {
	for width := 60; width <= 140; width++ {
		text := string(wide(t, false, width, func(p Printer) error { return p.Rows(harbour().Brief().Rows) }))
		for line := range strings.Lines(text) {
			line = strings.TrimSuffix(line, "\n")
			if got := ansi.StringWidth(line); got > width {
				t.Errorf("%d columns of %d: %q", got, width, line)
			}
			if strings.TrimRight(line, " ") != line {
				t.Errorf("ends with spaces: %q", line)
			}
		}
		if got := strings.Count(text, "(plain)"); got != 2 {
			t.Errorf("%d of 2 variants have their name at %d columns:\n%s", got, width, text)
		}
	}
}

// So are the tables of stages and of variants, and a comparison: no row is left for the
// terminal to break.
func TestTablesKeepToTheTerminal(t *testing.T) {
	for _, l := range []*Ledger{ferry(), storm(), harbour()} {
		c := Compare(l, revised(), DefaultToleranceDB)
		for width := 60; width <= 140; width++ {
			text := wide(t, false, width, func(p Printer) error { return errors.Join(p.ledger(l), p.Comparison(&c)) })
			for line := range strings.Lines(string(text)) {
				if got := ansi.StringWidth(strings.TrimSuffix(line, "\n")); got > width {
					t.Errorf("%d columns of %d: %q", got, width, line)
				}
			}
		}
	}
}

// A name has the room that it needs where no terminal sets a limit.
func TestNamesAreWholeWithoutATerminal(t *testing.T) {
	l := storm()
	text := string(printed(t, false, func(p Printer) error { return p.Track(&l.Tracks[2]) }))
	if row := "\na tilt filter of a very long name   0.31"; !strings.Contains(text, row) {
		t.Errorf("%q is not in\n%s", row, text)
	}
}

// A record of an earlier version has no figures of the whole chain, but its nets follow
// from the source and the end: 2.7 dB louder and 3.0 dB over, after 3.1 dB of gain.
func TestRowsOfAnEarlierRecord(t *testing.T) {
	l := ferry()
	l.Tracks[0].Whole = nil
	text := string(printed(t, false, func(p Printer) error { return p.Rows(l.Brief().Rows[:1]) }))
	row := strings.Fields(strings.Split(text, "\n")[2])
	// 01 lantern quay: drive, loudness, true peak, net, true net, removed, 400 ms, overs, limits
	want := []string{
		"01", "lantern", "quay", "4.00", "-14.63", "-0.98", "+3.68", "+4.04", "--", "--", "0", "met",
	}
	if strings.Join(row, " ") != strings.Join(want, " ") {
		t.Errorf("got %q, want %q", row, want)
	}
}

// Without a stage named drive there is no column for it.
func TestRowsWithoutADrive(t *testing.T) {
	l := ferry()
	for i := range l.Tracks {
		l.Tracks[i].Chain[0].Name = "push"
	}
	text := string(printed(t, false, func(p Printer) error { return p.Rows(l.Brief().Rows) }))
	if strings.Contains(text, "drive") {
		t.Errorf("got\n%s", text)
	}
}

func TestLabelWithin(t *testing.T) {
	for _, tt := range []struct {
		track, variant string
		width          int
		want           string
	}{
		{"01 quay", "", 20, "01 quay"},
		{"01 quay", "plain", 20, "01 quay (plain)"},
		{"02 breakwater", "", 10, "02 brea..."},
		{"02 breakwater", "plain", 16, "02 br... (plain)"},
		{"02 夜のフェリー", "plain", 16, "02 夜... (plain)"},
		{"02 breakwater", "with a clip at the rate", 24, "02 b... (with a clip...)"},
		{"q", "with a clip at the rate", 12, "q (with ...)"},
		{"02 breakwater", "plain", 3, "..."},
		{"a\x1b[2Jb", "", 20, "a?[2Jb"},
	} {
		got := LabelWithin(tt.track, tt.variant, tt.width)
		if got != tt.want {
			t.Errorf("%q, %q in %d columns: got %q, want %q", tt.track, tt.variant, tt.width, got, tt.want)
		}
		if ansi.StringWidth(got) > tt.width {
			t.Errorf("%q is wider than %d", got, tt.width)
		}
	}
}

func TestFailures(t *testing.T) {
	l := storm()
	one := l.Tracks[2]
	one.Output.LimitedSamples = 1
	text := string(printed(t, false, func(p Printer) error { return p.Failures(append(pointers(l), &one)) }))
	golden(t, "failures.txt", []byte(text))
	checkPlain(t, text)
	if got := string(printed(t, false, func(p Printer) error {
		return p.Failures(pointers(l)[:1])
	})); got != "" {
		t.Errorf("of a track with nothing to tell: %q", got)
	}
}
