package release

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// wantProblems loads a text and compares everything that is said of it.
func wantProblems(t *testing.T, text string, want ...string) {
	t.Helper()
	_, err := load(t, text)
	var problems Problems
	if err != nil && !errors.As(err, &problems) {
		t.Fatalf("not problems: %v", err)
	}
	got := ""
	if err != nil {
		got = err.Error()
	}
	if diff := cmp.Diff(strings.Join(want, "\n"), got); diff != "" {
		t.Errorf("of\n%s\n(-want +got):\n%s", text, diff)
	}
}

// Line 1 of most cases.
const mixes = "sources = [\"mixes/*.wav\"]\n"

func TestProblemsAtTheTop(t *testing.T) {
	inHarbour(t)
	for name, c := range map[string]struct{ text, want string }{
		"unknown key": {mixes + "titel = \"Night Ferry\"", `2: unknown key "titel"; did you mean "title"?`},
		"nothing near": {
			mixes + "artwork = 3", `2: unknown key "artwork"; want title, sources, ceiling_dbfs, continuous, order, ` +
				`gaps_s, chunks, output, tags, audibility, survey, stage, track, variant, delivery or inherit`,
		},
		"key of a stage": {
			mixes + "gain_db = 3", `2: unknown key "gain_db"; it belongs to a stage of kind gain`,
		},
		"key of output": {
			mixes + "encoding = \"pcm24\"", `2: unknown key "encoding"; it belongs under [output]`,
		},
		"title no string": {mixes + "title = 4", `2: title = 4 is a whole number; want a string in quotes`},
		"title empty": {
			mixes + `title = ""`, `2: title = "" is empty; leave the key out or give it a text`,
		},
		"title of a bell": {
			mixes + `title = "a\u0007"`, `2: title = "a\u0007" has control characters; want plain text`,
		},
		"ceiling too high": {
			mixes + "ceiling_dbfs = 0.5 # loud",
			`2: ceiling_dbfs = 0.5 is out of range; want a number from -60 to 0 dBFS`,
		},
		"ceiling too low": {
			mixes + "ceiling_dbfs = -61", `2: ceiling_dbfs = -61 is out of range; want a number from -60 to 0 dBFS`,
		},
		"ceiling a date": {
			mixes + "ceiling_dbfs = 2026-11-25",
			`2: ceiling_dbfs = 2026-11-25 is a date or time; want a number from -60 to 0 dBFS`,
		},
		"ceiling infinite": {
			mixes + "ceiling_dbfs = -inf",
			`2: ceiling_dbfs = -inf is not a finite number; want a number from -60 to 0 dBFS`,
		},
		"sources missing": {
			`title = "Night Ferry"`,
			`1: sources is missing; want a list of files, such as ["mixes/*.wav"] at the top of the file`,
		},
		"sources misspelt": {`soruces = ["mixes/*.wav"]`, `1: unknown key "soruces"; did you mean "sources"?`},
		"sources a string": {
			`sources = "mixes/*.wav"`,
			`1: sources = "mixes/*.wav" is a string; want a list of files, such as ["mixes/*.wav"]`,
		},
		"sources empty": {
			`sources = []`, `1: sources = [] names nothing; want a list of files, such as ["mixes/*.wav"]`,
		},
		"source no string": {
			"sources = [\n  \"mixes/*.wav\",\n  4, # four\n]",
			`3: sources: 4 is a whole number; want a file or a pattern in quotes, such as "mixes/*.wav"`,
		},
		"source a table": {
			"sources = [\n  {a = 1},\n]",
			`2: sources: {...} is a table; want a file or a pattern in quotes, such as "mixes/*.wav"`,
		},
		"source empty": {
			`sources = [""]`, `1: sources: "" is no file name; want a file or a pattern, such as "mixes/*.wav"`,
		},
		"pattern open": {
			`sources = ["mixes/[ab.wav"]`, `1: sources: "mixes/[ab.wav" is no pattern; want * and ? for any text ` +
				`and letter, and [abc] closed (a real [ is written [[])`,
		},
		"pattern of depth": {
			`sources = ["mixes/**/*.wav"]`, `1: sources: "mixes/**/*.wav": ** does not match folders of any depth; ` +
				`name each level, such as "mixes/*/*.wav"`,
		},
		"output no table": {
			mixes + `output = "masters"`, `2: output = "masters" is a string; want a table [output]`,
		},
		"output repeated": {mixes + "[[output]]", `2: [[output]] is a list; want a table [output]`},
		"encoding unknown": {
			mixes + "[output]\nencoding = \"pcm20\"",
			`3: [output] encoding = "pcm20" is not known; want "pcm16", "pcm24", "pcm32", "float32" or "float64"`,
		},
		"encoding a number": {
			mixes + "[output]\nencoding = 24",
			`3: [output] encoding = 24 is a whole number; want "pcm16", "pcm24", "pcm32", "float32" or "float64"`,
		},
		"removed a string": {
			mixes + "[output]\nremoved = \"true\"",
			`3: [output] removed = "true" is a string; want true or false, without quotes`,
		},
		"link a number": {
			mixes + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1\nlink = 1",
			`5: stage "hard_clip": link = 1 is a whole number; want true or false`,
		},
		"link in quotes": {
			mixes + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1\nlink = \"true\"",
			`5: stage "hard_clip": link = "true" is a string; want true or false, without quotes`,
		},
		"too much temper": {
			mixes + "[[stage]]\nkind = \"masked_clip\"\nceiling_dbfs = -1\ntemper = 1.1",
			`5: stage "masked_clip": temper = 1.1 is out of range; want a number from 0 to 1`,
		},
		"no guard": {
			mixes + "[[stage]]\nkind = \"masked_clip\"\nceiling_dbfs = -1\nguard_hz = 0",
			`5: stage "masked_clip": guard_hz = 0 is out of range; want a number from 20 to 1000 Hz`,
		},
		"too wide a knee": {
			mixes + "[[stage]]\nkind = \"oversampled_clip\"\nceiling_dbfs = -1\nknee_db = 13",
			`5: stage "oversampled_clip": knee_db = 13 is out of range; want a number from 0 to 12 dB`,
		},
		"match a number": {
			mixes + "[output]\nmatch_loudness = 1",
			`3: [output] match_loudness = 1 is a whole number; want true or false`,
		},
		"unknown in output": {
			mixes + "output.foldr = \"x\"", `2: [output] has no key "foldr"; did you mean "folder"?`,
		},
		"top key in output": {
			mixes + "[output]\ntitle = \"x\"",
			`3: [output] has no key "title"; it belongs under [track."NAME".tags], or at the top of the file, ` +
				`before the first table`,
		},
		"folder empty": {
			mixes + "[output]\nfolder = ''", `3: [output] folder = '' is empty; leave the key out or give it a text`,
		},
		"stage no table": {
			mixes + "stage = 3", `2: stage = 3 is a whole number; want a table [[stage]] for each stage`,
		},
		"stage list of words": {
			mixes + `stage = ["gain"]`, `2: "gain" is a string; want a table [[stage]] for each stage`,
		},
		"track no table": {mixes + "track = 3", `2: track = 3 is a whole number; want tables [track."NAME"]`},
		"track repeated": {mixes + "[[track]]", `2: [[track]] is a list; want tables [track."NAME"]`},
		"variant no table": {
			mixes + "variant.plain = true", `2: variant.plain = true is a truth value; want a table [variant.plain]`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, c.text, "release.toml:"+c.want) })
	}
}

func TestProblemsOfTracksAndVariants(t *testing.T) {
	inHarbour(t)
	const chain = mixes + `
[[stage]]
kind = "gain"
name = "drive"
gain_db = 4
[[stage]]
kind = "hard_clip"
name = "clip"
ceiling_dbfs = -1
` // ten lines
	for name, c := range map[string]struct{ text, want string }{
		"track unknown": {
			"[track.\"02 braekwater\"]",
			`11: [track."02 braekwater"]: no track is named "02 braekwater"; did you mean "02 breakwater"?`,
		},
		"track far off": {
			"[track.overture]", `11: [track.overture]: no track is named "overture"; the tracks are "01 tide", "02 ` +
				`breakwater" and "03 lamp"`,
		},
		"track by file": {
			"[track.\"03 lamp.wav\"]",
			`11: [track."03 lamp.wav"]: no track is named "03 lamp.wav"; want "03 lamp", without the extension`,
		},
		"track no table": {
			"[track]\n\"03 lamp\" = 3", `12: "03 lamp" = 3 is a whole number; want a table [track."03 lamp"]`,
		},
		"stage unknown": {
			"[track.\"03 lamp\"]\ndriev.gain_db = 5",
			`12: [track."03 lamp"]: no stage is named "driev"; did you mean "drive"?`,
		},
		"stage far off": {
			"[track.\"03 lamp\".shimmer]\ngain_db = 5",
			`11: [track."03 lamp"]: no stage is named "shimmer"; want drive or clip`,
		},
		"key of the release": {
			"[track.\"03 lamp\"]\ngaps_s = 2",
			`12: [track."03 lamp"]: no stage is named "gaps_s"; the key of that name belongs at the top of the ` +
				`file, before the first table`,
		},
		"setting alone": {
			"[track.\"03 lamp\"]\ngain_db = 5",
			`12: [track."03 lamp"]: gain_db = 5 does not say which stage it sets; want drive.gain_db = 5`,
		},
		"stage no table": {
			"[track.\"03 lamp\"]\ndrive = 5",
			`12: [track."03 lamp"]: drive = 5 is a whole number; want a setting of the stage, such as ` +
				`drive.KEY = VALUE`,
		},
		"key of another kind": {
			"[track.\"03 lamp\"]\nclip.gain_db = 5",
			`12: [track."03 lamp"]: stage "clip": hard_clip has no key "gain_db"; it belongs to a stage of kind gain`,
		},
		"value out of range": {
			"[track.\"03 lamp\".drive]\ngain_db = 61",
			`12: [track."03 lamp"]: stage "drive": gain_db = 61 is out of range; want a number from -60 to 60 dB`,
		},
		"kind in a track": {
			"[track.\"03 lamp\"]\nclip.kind = \"gain\"",
			`12: [track."03 lamp"]: stage "clip": kind = "gain": a track cannot change a stage's kind; want a ` +
				`[variant.NAME] for it`,
		},
		"skip a string": {
			"[track.\"03 lamp\"]\nskip = \"clip\"",
			`12: [track."03 lamp"]: skip = "clip" is a string; want a list of stages, such as ["clip"]`,
		},
		"skip unknown": {
			"[track.\"03 lamp\"]\nskip = [\n\"clip\",\n\"clap\"]",
			`14: [track."03 lamp"]: skip: no stage is named "clap"; did you mean "clip"?`,
		},
		"skip a number": {
			"[track.\"03 lamp\"]\nskip = [1]",
			`12: [track."03 lamp"]: skip: 1 is a whole number; want a stage's name in quotes`,
		},
		"variant kind": {
			"[variant.plain]\nclip.kind = \"hardclip\"",
			`12: [variant.plain]: stage "clip": no kind of stage is named "hardclip"; did you mean "hard_clip"?`,
		},
		"variant lacks a key": {
			"[variant.plain]\nskip = []\ndrive.kind = \"dither\"",
			`13: [variant.plain]: stage "drive": dither needs bits; want a whole number from 2 to 32 bits`,
		},
		"variant misspells": {
			"[variant.plain.drive]\nkind = \"dither\"\nbist = 16",
			`13: [variant.plain]: stage "drive": dither has no key "bist"; did you mean "bits"?`,
		},
		"variant old key": {
			"[variant.plain.drive]\nkind = \"measure\"\ngain_db = 3",
			`13: [variant.plain]: stage "drive": measure has no key "gain_db"; it belongs to a stage of kind gain`,
		},
		"variant renames": {
			"[variant.plain.drive]\nname = \"push\"",
			`12: [variant.plain]: stage "drive": gain has no key "name"; want kind or gain_db`,
		},
		"variant reserved": {
			"[variant.Matched]", `11: [variant.Matched]: "Matched" is taken in the output folder; want another name`,
		},
		"variant a ledger": {
			"[variant.\"ledger.json\"]",
			`11: [variant."ledger.json"]: "ledger.json" is taken in the output folder; want another name`,
		},
		"variant with slash": {
			"[variant.\"a/b\"]", `11: [variant."a/b"]: the name is that of a folder; want one without / \ : * ? " < ` +
				`> | and control characters`,
		},
		"variant hidden": {
			"[variant.\"..\"]", `11: [variant.".."]: the name is that of a folder; want one that does not begin or ` +
				`end with a full stop or a blank`,
		},
		"variant empty": {
			"[variant.\"\"]", `11: [variant.""]: the name is that of a folder; want one without / \ : * ? " < > | ` +
				`and control characters`,
		},
		"variants alike": {
			"[variant.Plain]\n[variant.plain]",
			`12: [variant.plain]: its folder is that of [variant.Plain] where capitals do not count; want ` +
				`another name`,
		},
		"variant an output": {
			"[variant.\"03 Lamp.wav\"]",
			`11: [variant."03 Lamp.wav"]: its folder would be the output of the track "03 lamp"; want another name`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, chain+c.text, "release.toml:"+c.want) })
	}
}

func TestAllProblemsAtOnce(t *testing.T) {
	inHarbour(t)
	wantProblems(t, `sources = ["mixs/*.wav"]
celing_dbfs = -1
[output]
encoding = "flac"
[track.nobody]
drive.gain = 3
[[stage]]
kind = "gain"
name = "drive"
gain_db = "3"
[[stage]]
kind = "clip"
[variant.a]
clip.factor = 2
skip = ["driev"]
`,
		`release.toml:1: sources: "mixs/*.wav" matches no file: there is no folder "mixs"`,
		`release.toml:2: unknown key "celing_dbfs"; did you mean "ceiling_dbfs"?`,
		`release.toml:4: [output] encoding = "flac" is not known; want "pcm16", "pcm24", "pcm32", "float32" `+
			`or "float64"`,
		`release.toml:6: [track.nobody]: stage "drive": gain has no key "gain"; did you mean "gain_db"?`,
		`release.toml:10: stage "drive": gain_db = "3" is a string; want a number from -60 to 60 dB, `+
			`without quotes`,
		`release.toml:12: stage 2: no kind of stage is named "clip"; want gain, hard_clip, oversampled_clip, `+
			`masked_clip, ceiling_hold, resample, dither or measure`,
		`release.toml:15: [variant.a]: skip: no stage is named "driev"; did you mean "drive"?`,
	)
}
