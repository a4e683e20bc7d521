package release

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

const inOrder = `order = ["03 lamp", "01 tide", "02 breakwater"]` + "\n"

func TestOrderAndGaps(t *testing.T) {
	inHarbour(t)
	byName := []string{"01 tide", "02 breakwater", "03 lamp"}
	own := []string{"03 lamp", "01 tide", "02 breakwater"}
	const sheet = "[[delivery]]\nname = \"disc\"\nsheet = true\n"
	for text, want := range map[string]struct {
		tracks []string
		gaps   []float64
	}{
		"":                                {nil, nil},
		sheet:                             {byName, nil},
		inOrder:                           {own, nil},
		"gaps_s = 2":                      {byName, []float64{2, 2}},
		inOrder + "gaps_s = [0, 600]":     {own, []float64{0, 600}},
		"continuous = true\ngaps_s = 1.5": {byName, []float64{0, 0}},
		inOrder + "continuous = [[\"03 lamp\", \"01 tide\"]]\ngaps_s = 1.5":            {own, []float64{0, 1.5}},
		inOrder + "continuous = [[\"01 tide\", \"02 breakwater\"]]\ngaps_s = [3.5, 0]": {own, []float64{3.5, 0}},
	} {
		r := mustLoad(t, mixes+text)
		if diff := cmp.Diff(want.tracks, r.Order); diff != "" {
			t.Errorf("%s: order (-want +got):\n%s", text, diff)
		}
		if diff := cmp.Diff(want.gaps, r.GapsS); diff != "" {
			t.Errorf("%s: gaps (-want +got):\n%s", text, diff)
		}
	}
}

// All that is wrong is reported at once, and one mistake once: a track that was likely meant is not missing
// too.
func TestAllProblemsOfOrderAtOnce(t *testing.T) {
	inHarbour(t)
	wantProblems(t, mixes+`order = ["01 tide", "01 tide",
 "03 lump"]
gaps_s = [1, -1, 3]
continuous = [["01 tide", "03 lamp"], ["04 mole", "03 lamp"]]
ceiling_dbfs = "loud"
`,
		`release.toml:2: order: track "01 tide" is named twice; want it once`,
		`release.toml:2: order: track "02 breakwater" is missing; want every track once`,
		`release.toml:3: order: no track is named "03 lump"; did you mean "03 lamp"?`,
		`release.toml:4: gaps_s: -1 is out of range; want a number from 0 to 600 s`,
		`release.toml:4: gaps_s has 3 numbers; want 2, one for each two of the 3 tracks`,
		`release.toml:5: continuous: track "03 lamp" is named twice; want it once, in one group`,
		`release.toml:5: continuous: no track is named "04 mole"; the tracks are "01 tide", "02 breakwater" and `+
			`"03 lamp"`,
		`release.toml:6: ceiling_dbfs = "loud" is a string; want a number from -60 to 0 dBFS`)
	const group = "continuous = [[\"01 tide\", \"03 lamp\"]]\n"
	wantProblems(t, mixes+"order = [2, \"03 lamp\", \"01 tide\"]\n"+group,
		`release.toml:2: order: 2 is a whole number; want a track's name in quotes`,
		`release.toml:2: order: "01 tide" runs into "03 lamp", as continuous says; want the one right `+
			`after the other`)
}

func TestProblemsOfOrderAndGaps(t *testing.T) {
	inHarbour(t)
	const list = `a list of all tracks in their order, such as ["01 quay", "02 ferry"]`
	const two = "continuous = [[\"01 tide\", \"02 breakwater\"]]\n"
	for name, c := range map[string]struct{ text, want string }{
		"no list": {`order = "01 tide"`, `2: order = "01 tide" is a string; want ` + list},
		"no name": {
			"order = [\"01 tide\",\n 2]", `3: order: 2 is a whole number; want a track's name in quotes`,
		},
		"twice": {
			"order = [\"03 lamp\", \"01 tide\",\n \"02 breakwater\", \"01 tide\"]",
			`3: order: track "01 tide" is named twice; want it once`,
		},
		"unknown": {
			"order = [\"03 lamp\", \"01 tide\",\n \"02 breakwatr\"]",
			`3: order: no track is named "02 breakwatr"; did you mean "02 breakwater"?`,
		},
		"extension": {
			`order = ["03 lamp.wav", "01 tide", "02 breakwater"]`,
			`2: order: no track is named "03 lamp.wav"; want "03 lamp", without the extension`,
		},
		"one missing": {
			`order = ["03 lamp", "01 tide"]`, `2: order: track "02 breakwater" is missing; want every track once`,
		},
		"some missing": {
			`order = ["03 lamp"]`,
			`2: order: the tracks "01 tide" and "02 breakwater" are missing; want every track once`,
		},
		"a group apart": {
			inOrder + "continuous = [[\"03 lamp\", \"02 breakwater\"]]",
			`2: order: "03 lamp" runs into "02 breakwater", as continuous says; want the one right after the other`,
		},
		"a group reversed": {
			"continuous = [[\"02 breakwater\", \"01 tide\"]]\ngaps_s = 2",
			`2: continuous: "02 breakwater" runs into "01 tide", and does not come right before it by name; want ` +
				`order, with all tracks as they follow each other`,
		},
		"gaps a text": {
			`gaps_s = "2"`, `2: gaps_s = "2" is a string; want a number from 0 to 600 s, without quotes`,
		},
		"gaps a table": {
			`gaps_s = {a = 2}`, `2: gaps_s = {a = 2} is a table; want a number of seconds, or a list of one for ` +
				`each two tracks, such as [2.0, 3.5]`,
		},
		"gap negative":  {"gaps_s = [2,\n -1]", `3: gaps_s: -1 is out of range; want a number from 0 to 600 s`},
		"gap too long":  {`gaps_s = 601`, `2: gaps_s = 601 is out of range; want a number from 0 to 600 s`},
		"gap no number": {`gaps_s = nan`, `2: gaps_s = nan is not a finite number; want a number from 0 to 600 s`},
		"too few":       {`gaps_s = [2]`, `2: gaps_s has 1 number; want 2, one for each two of the 3 tracks`},
		"too many": {
			`gaps_s = [2, 2, 2]`, `2: gaps_s has 3 numbers; want 2, one for each two of the 3 tracks`,
		},
		"within a group": {
			two + "gaps_s = [2, 2]",
			`3: gaps_s: 2 s between "01 tide" and "02 breakwater", which run into each other; want 0 there`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}

func TestProblemsOfDiscs(t *testing.T) {
	inHarbour(t)
	const disc = "[[delivery]]\nname = \"disc\"\nencoding = \"pcm16\"\ndisc_frames = true\n"
	for name, c := range map[string]struct{ text, want string }{
		"no truth": {
			"[[delivery]]\nname = \"disc\"\nsheet = \"yes\"",
			`4: delivery "disc": sheet = "yes" is a string; want true or false`,
		},
		"24 bits": {
			"[[delivery]]\nname = \"disc\"\ndisc_frames = true\n",
			`4: delivery "disc": disc_frames = true is for files of pcm16, and its encoding is pcm24; want ` +
				`encoding = "pcm16"`,
		},
		"48 kHz": {
			disc + "[[delivery.stage]]\nkind = \"resample\"\nrate_hz = 48000",
			`5: delivery "disc": disc_frames = true is for 44100 Hz, and stage "resample" hands on 48000 Hz; want ` +
				`rate_hz = 44100 there, or no disc_frames`,
		},
		"at the top": {"disc_frames = true", `2: unknown key "disc_frames"; it belongs in a [[delivery]]`},
		"elsewhere": {
			"[output]\ngaps_s = 2",
			`3: [output] has no key "gaps_s"; it belongs at the top of the file, before the first table`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}
