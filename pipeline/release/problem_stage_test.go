package release

import (
	"fmt"
	"strings"
	"testing"
)

func TestProblemsOfStages(t *testing.T) {
	inHarbour(t)
	const (
		gain = "[[stage]]\nkind = \"gain\"\n"
		clip = "[[stage]]\nkind = \"oversampled_clip\"\nname = \"clip\"\nceiling_dbfs = -1\n"
		dith = "[[stage]]\nkind = \"dither\"\nbits = 24\n"
		hold = "[[stage]]\nkind = \"ceiling_hold\"\nceiling_dbfs = -1\n"
	)
	for name, c := range map[string]struct{ text, want string }{
		"list, a word": {
			hold + "read_by = \"bs1770\"",
			`5: stage "ceiling_hold": read_by = "bs1770" is a string; want a list of "exact", "bs1770" and "sinc49"`,
		},
		"list, unknown": {
			hold + "read_by = [\"exact\", \"fir\"]",
			`5: stage "ceiling_hold": read_by = ["exact", "fir"] has "fir" in it, which is not known; want a list ` +
				`of "exact", "bs1770" and "sinc49"`,
		},
		"list, twice": {
			hold + "read_by = [\"exact\", \"exact\"]",
			`5: stage "ceiling_hold": read_by = ["exact", "exact"] has "exact" in it twice; want it once`,
		},
		"list of numbers": {
			hold + "read_by = [49]", `5: stage "ceiling_hold": read_by = [49] has a whole number in it; want a list ` +
				`of "exact", "bs1770" and "sinc49"`,
		},
		"list, empty": {
			hold + "read_by = []",
			`5: stage "ceiling_hold": read_by = [] names nothing; want a list of "exact", "bs1770" and "sinc49"`,
		},
		"kind missing": {
			"[[stage]]\nname = \"drive\"", `2: stage 1: kind is missing; want gain, hard_clip, oversampled_clip, ` +
				`masked_clip, ceiling_hold, resample, dither or measure`,
		},
		"kind unknown": {
			gain + "gain_db = 1\n[[stage]]\nkind = \"hardclip\"",
			`6: stage 2: no kind of stage is named "hardclip"; did you mean "hard_clip"?`,
		},
		"kind far off": {
			"[[stage]]\nkind = \"reverb\"", `3: stage 1: no kind of stage is named "reverb"; want gain, hard_clip, ` +
				`oversampled_clip, masked_clip, ceiling_hold, resample, dither or measure`,
		},
		"kind no string": {
			"[[stage]]\nkind = 3", `3: stage 1: kind = 3 is a whole number; want a kind in quotes: gain, hard_clip, ` +
				`oversampled_clip, masked_clip, ceiling_hold, resample, dither or measure`,
		},
		"single brackets": {
			"[stage]\nkind = \"gain\"\ngain_db = 3",
			`2: [stage] is a single table; write [[stage]], in double brackets, for each stage`,
		},
		"kind misspelt": {
			"[[stage]]\nknid = \"gain\"\ngain_db = 3", `3: stage "stage": unknown key "knid"; did you mean "kind"?`,
		},
		"key misspelt": {
			gain + "gian_db = 3", `4: stage "gain": gain has no key "gian_db"; did you mean "gain_db"?`,
		},
		"key of another": {
			gain + "ceiling_db = 3", `2: stage "gain": gain needs gain_db; want a number from -60 to 60 dB` +
				"\nrelease.toml:4: stage \"gain\": gain has no key \"ceiling_db\"; want kind, name or gain_db",
		},
		"key missing": {gain, `2: stage "gain": gain needs gain_db; want a number from -60 to 60 dB`},
		"number in quotes": {
			gain + `gain_db = "4"`,
			`4: stage "gain": gain_db = "4" is a string; want a number from -60 to 60 dB, without quotes`,
		},
		"words for number": {
			gain + `gain_db = "loud"`,
			`4: stage "gain": gain_db = "loud" is a string; want a number from -60 to 60 dB`,
		},
		"number a list": {
			gain + "gain_db = [\n4]", `4: stage "gain": gain_db = [ ... is a list; want a number from -60 to 60 dB`,
		},
		"number a table": {
			gain + "gain_db.left = 4", `4: stage "gain": gain_db.left = 4 is a table; want a number from -60 to 60 dB`,
		},
		"not a number": {
			gain + "gain_db = nan",
			`4: stage "gain": gain_db = nan is not a finite number; want a number from -60 to 60 dB`,
		},
		"out of range": {
			gain + "gain_db = 60.5",
			`4: stage "gain": gain_db = 60.5 is out of range; want a number from -60 to 60 dB`,
		},
		"near key": {
			gain + "gain_db = 1\nnaem = \"x\"", `5: stage "gain": gain has no key "naem"; did you mean "name"?`,
		},
		"unit left off": {
			clip + "[[stage]]\nkind = \"measure\"\ntrue_peak_max = -1",
			`8: stage "measure": measure has no key "true_peak_max"; did you mean "true_peak_max_dbtp"?`,
		},
		"nothing near": {
			gain + "gain_db = 1\nwarmth = 11", `5: stage "gain": gain has no key "warmth"; want kind, name or gain_db`,
		},
		"key of a kind": {
			gain + "gain_db = 1\nfactor = 8",
			`5: stage "gain": gain has no key "factor"; it belongs to a stage of kind oversampled_clip`,
		},
		"key of some kinds": {
			gain + "gain_db = 1\nceiling_dbfs = 0",
			`5: stage "gain": gain has no key "ceiling_dbfs"; it belongs to a stage of kind hard_clip, ` +
				`oversampled_clip, masked_clip, ceiling_hold or dither, or at the top of the file, before ` +
				`the first table`,
		},
		"key of the top": {
			gain + "gain_db = 1\ntitle = \"x\"",
			`5: stage "gain": gain has no key "title"; it belongs under [track."NAME".tags], or at the top of the ` +
				`file, before the first table`,
		},
		"key, kind unknown": {
			"[[stage]]\nkind = \"dihter\"\nname = \"d\"\nbits = 16\nbist = 3",
			"3: stage 1: no kind of stage is named \"dihter\"; did you mean \"dither\"?\n" +
				"release.toml:6: stage \"d\": unknown key \"bist\"; did you mean \"bits\"?",
		},
		"not a choice": {
			clip + "factor = 3", `6: stage "clip": factor = 3 is not one of the values; want 2, 4, 8 or 16`,
		},
		"choice no integer": {
			clip + "factor = 4.0",
			`6: stage "clip": factor = 4.0 is a number with a decimal point; want 2, 4, 8 or 16`,
		},
		"choice in quotes": {
			clip + "factor = \"4\"", `6: stage "clip": factor = "4" is a string; want 2, 4, 8 or 16, without quotes`,
		},
		"ceiling too high": {
			clip + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = 1e-9",
			`8: stage "hard_clip": ceiling_dbfs = 1e-9 is out of range; want a number from -60 to 0 dBFS`,
		},
		"not a word": {
			dith + "density = \"flat\"",
			`5: stage "dither": density = "flat" is not known; want "triangular", "rectangular" or "none"`,
		},
		"word no string": {
			dith + "density = true",
			`5: stage "dither": density = true is a truth value; want "triangular", "rectangular" or "none"`,
		},
		"integer too large": {
			dith + "seed = 9223372036854775807",
			`5: stage "dither": seed = 9223372036854775807 is out of range; want a whole number from 0 to ` +
				`9007199254740992`,
		},
		"integer a float": {
			"[[stage]]\nkind = \"dither\"\nbits = 16.5",
			`4: stage "dither": bits = 16.5 is a number with a decimal point; want a whole number from 2 to 32 bits`,
		},
		"name twice": {
			clip + clip, `8: two stages are named "clip", the other one at line 4; give each a name of its own`,
		},
		"name empty": {
			clip + "[[stage]]\nkind = \"measure\"\nname = \"\"",
			`8: stage 2: name = "" is empty; leave the key out or give it a text`,
		},
		"name a number": {
			clip + "[[stage]]\nkind = \"measure\"\nname = 2",
			`8: stage 2: name = 2 is a whole number; want a string in quotes`,
		},
		"name taken": {
			clip + "[[stage]]\nkind = \"measure\"\nname = \"source\"",
			`8: stage 2: name = "source" is taken: boundary 0 is named source, skip leaves stages out, and tags are ` +
				`a track's texts; want another name`,
		},
		"name with slash": {
			clip + "[[stage]]\nkind = \"measure\"\nname = 'a\\b'",
			`8: stage 2: name = 'a\b' has a slash; want a name without one`,
		},
		"name with a bell": {
			clip + "[[stage]]\nkind = \"measure\"\nname = \"a\\u0007\"",
			`8: stage 2: name = "a\u0007" has control characters; want plain text`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}

// A ceiling that leaves a dither no code is a mistake of the file: in the chain, for a track and in a
// delivery.
func TestProblemsOfADitherWithoutCodes(t *testing.T) {
	inFolder(t, "mixes/02 breakwater.wav")
	const dither = "[[stage]]\nkind = \"dither\"\nbits = 2\nceiling_dbfs = -6.03\n"
	const is = `stage "dither": ceiling_dbfs -6.03 leaves no code but 0 at 2 bits: it takes -6.02 or more`
	wantProblems(t, mixes+dither, "release.toml:2: "+is)
	wantProblems(t, mixes+strings.Replace(dither, "-6.03", "-6.02", 1))
	wantProblems(t, mixes+strings.Replace(dither, "bits = 2", "bits = 16", 1)+
		"[track.\"02 breakwater\"]\ndither.bits = 2\n",
		`release.toml:2: [track."02 breakwater"]: `+is)
	wantProblems(t, mixes+"[[delivery]]\nname = \"disc\"\n"+
		strings.Replace(dither, "[[stage]]", "[[delivery.stage]]", 1),
		`release.toml:4: delivery "disc": `+is)
}

// A kind that is unknown, and long, is not told again with each of the stage's keys.
func TestALongKindIsNotRepeated(t *testing.T) {
	inHarbour(t)
	_, err := load(t, mixes+"[[stage]]\nkind = \""+strings.Repeat("x", 10_000)+"\"\na = 1\nb = 2\nc = 3\n")
	if err == nil || len(err.Error()) > 12_000 {
		t.Errorf("%d bytes of problems", len(fmt.Sprint(err)))
	}
}
