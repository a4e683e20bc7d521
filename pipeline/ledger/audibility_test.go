package ledger

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/stages/ear"
)

// heardAs is an audibility of the two figures, with two moments if there is any.
func heardAs(noiseToMask, disturbed float64) *Audibility {
	a := &Audibility{LevelDBSPL: 92, NoiseToMaskDB: Level(noiseToMask), DisturbedPercent: disturbed}
	if disturbed > 0 {
		a.Moments = []Moment{{1.310023, 1, 3187.2, 3702.4, 3.1}, {9.1, 2, 612, 730, 1.6}}
	}
	return a
}

// The record of a reading has its figures rounded, channels from 1 and times in seconds.
func TestAudibilityOfAReading(t *testing.T) {
	r := ear.Reading{
		NoiseToMask: ear.Figure{Value: -14.20004, Channel: 1}, Disturbed: ear.Figure{Value: 0.8},
		WorstNoise: ear.Figure{Value: -13, Frame: 48000}, WorstDisturbed: ear.Figure{Value: 2.1, Frame: 96000},
		Moments: []ear.Moment{
			{Frame: 62880, Channel: 1, Band: ear.Band{From: 3199.96, To: 3700}, OverMask: 3.1}, {OverMask: 1e-6},
		},
	}
	want := `{"level_db_spl":92,"noise_to_mask_db":-14.2,"disturbed_percent":0.8,` +
		`"worst_15s":{"time_s":2,"noise_to_mask_db":-13,"disturbed_percent":2.1},` +
		`"moments":[{"time_s":1.31,"channel":2,"from_hz":3200,"to_hz":3700,"over_mask_db":3.1}]}`
	check := func(want string) {
		t.Helper()
		text, err := json.Marshal(NewAudibility(r, 48000, 92))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, string(text)); diff != "" {
			t.Error(diff)
		}
	}
	check(want)
	r.WorstDisturbed, r.Disturbed = ear.Figure{}, ear.Figure{}
	check(strings.NewReplacer(`"time_s":2,`, `"time_s":1,`, `"disturbed_percent":0.8`, `"disturbed_percent":0`,
		`"disturbed_percent":2.1`, `"disturbed_percent":0`).Replace(want))
	r = ear.Reading{NoiseToMask: ear.Figure{Value: math.Inf(-1)}, WorstNoise: ear.Figure{Value: math.Inf(-1)}}
	check(`{"level_db_spl":92,"noise_to_mask_db":null,"disturbed_percent":0}`)
}

// Under the table of stages is one line, and a note where either figure is high.
func TestAudibilityInWords(t *testing.T) {
	for _, tt := range []struct {
		a     *Audibility
		want  string
		noted bool
	}{
		{nil, "", false},
		{heardAs(math.Inf(-1), 0), "noise to mask: none, nothing was removed", false},
		{heardAs(-29.71, 0), "noise to mask -29.7 dB, 0.0 % disturbed", false},
		{
			heardAs(-14.2, 0.8), "noise to mask -14.2 dB, 0.8 % disturbed; worst at 1.31 s, channel 1, 3.2 to 3.7 " +
				"kHz, 3.1 dB over the mask", false,
		},
		{
			heardAs(-10, 5), "noise to mask -10.0 dB, 5.0 % disturbed; worst at 1.31 s, channel 1, 3.2 to 3.7 kHz, " +
				"3.1 dB over the mask", false,
		},
		{heardAs(-10, 5.0001), "noise to mask -10.0 dB, 5.0 % disturbed; worst at", true},
		{heardAs(-9.9999, 1), "noise to mask -10.0 dB, 1.0 % disturbed; worst at", true},
	} {
		track := ferry().Tracks[0]
		track.Whole.Audibility = tt.a
		text := strings.Join(strings.Fields(string(printed(t, false, func(p Printer) error {
			return p.Track(&track)
		}))), " ")
		if tt.a == nil && strings.Contains(text, "mask") || !strings.Contains(text, tt.want) {
			t.Errorf("want %q in\n%s", tt.want, text)
		}
		if got := strings.Contains(text, "note: more than 5 % disturbed or -10 dB of noise to mask "+
			"(limits of our own)"); got != tt.noted {
			t.Errorf("%s: noted %v", tt.want, got)
		}
	}
	if got := span(612, 730); got != "612 to 730 Hz" {
		t.Error(got)
	}
}

// A row has both figures where any track has, and a narrow terminal goes without them first.
func TestAudibilityInRows(t *testing.T) {
	l := ferry()
	rows := func(width int) string {
		return string(wide(t, false, width, func(p Printer) error { return p.Rows(l.Brief().Rows) }))
	}
	if text := rows(0); strings.Contains(text, "disturbed") {
		t.Errorf("of no track:\n%s", text)
	}
	before := rows(90)
	l.Tracks[1].Whole.Audibility = heardAs(-14.2, 0.81)
	if text := rows(0); !strings.Contains(text, "noise to disturbed") ||
		!strings.Contains(text, " -14.20      0.81 ") {
		t.Errorf("of one track:\n%s", text)
	}
	if text := rows(90); text != before {
		t.Errorf("of 90 columns:\n%s\nwant\n%s", text, before)
	}
}

// A comparison tells what moved, and nothing where one of two runs has no figures: it was another version, or
// turned off.
func TestCompareTellsAudibility(t *testing.T) {
	ledger := func(a *Audibility) *Ledger {
		l := mastered(-7.46, -1, 3.18, 3.1, -34.4)
		l.Tracks[0].Whole.Audibility = a
		return l
	}
	was := ledger(heardAs(-21.5, 0.5))
	for _, tt := range []struct {
		is   *Audibility
		want string
	}{
		{heardAs(-14.2, 0.8), "noise to mask -21.50 -> -14.20 dB, disturbed 0.50 -> 0.80 %"},
		{heardAs(-21.5, 0.5), ""},
		{heardAs(math.Inf(-1), 0.5), "noise to mask -21.50 -> -- dB"},
		{nil, ""},
	} {
		if c := Compare(was, ledger(tt.is), DefaultToleranceDB); len(c.Changes) > 0 &&
			c.Changes[0].What == WhatLevel {
			t.Errorf("%q: %v", tt.want, c.Changes[0])
		}
		if got := MasterMoved(&was.Tracks[0], &ledger(tt.is).Tracks[0]); got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
	loud := heardAs(-14.2, 0.8)
	loud.LevelDBSPL = 100
	c := Compare(was, ledger(loud), DefaultToleranceDB)
	if len(c.Changes) != 1 || c.Changes[0].String() != "audibility: at a playback level of 92 -> 100 dB SPL" {
		t.Errorf("%v", c.Changes)
	}
}
