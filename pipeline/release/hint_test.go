package release

import (
	"strings"
	"testing"
)

// A number as other programs show it, and a stage in single brackets, are told
// how they are written here.
func TestProblemsSayWhatToWrite(t *testing.T) {
	inHarbour(t)
	const (
		gain   = "[[stage]]\nkind = \"gain\"\n"
		single = "[stage]\nkind = \"gain\"\ngain_db = 1\n"
		double = "[[stage]]\nkind = \"gain\"\ngain_db = 1\n"
		ended  = "not TOML: expected a top-level item to end with a newline, comment, or EOF, but got "
		brace  = "gain_db = 1\n[track.\"03 lamp\"]\n"
	)
	for name, c := range map[string]struct{ text, want string }{
		"decimal comma": {gain + "gain_db = 5,0", `4: gain_db = 5,0: write 5.0`},
		"quotes of a word processor": {
			"title = \u201cferry\u201d", "2: title = \u201cferry\u201d: want straight quotes, as in \"text\"",
		},
		"decimal comma, signed": {
			gain + "gain_db = -5,25 # soft", `4: gain_db = -5,25: write -5.25`,
		},
		"decimal comma at the top": {"ceiling_dbfs = -1,0", `2: ceiling_dbfs = -1,0: write -1.0`},
		"decimal comma in braces": {
			gain + brace + "gain = {gain_db = 5,0}", `6: gain = {gain_db = 5,0}: write 5.0`,
		},
		"decimal comma in braces before a comment": {
			gain + brace + "gain = {gain_db = 5,0} # a = 1, \"b\"", `6: gain = {gain_db = 5,0}: write 5.0`,
		},
		"a sign in quotes is no comment": {
			"title = \u201cferry # 2\u201d", "2: title = \u201cferry # 2\u201d: want straight quotes, as in \"text\"",
		},
		"decimal comma in quotes": {
			gain + `gain_db = "5,0"`, `4: stage "gain": gain_db = "5,0" is a string; want a number from -60 to 60 ` +
				`dB; write 5.0, without quotes`,
		},
		"comma and unit": {
			gain + "gain_db = 5,0 dB", `4: gain_db = 5,0 dB: gain_db is in dB already: write 5.0`,
		},
		"unit": {
			gain + "gain_db = 5 dB", `4: gain_db = 5 dB: gain_db is in dB already: write 5`,
		},
		"unit, joined": {
			gain + "gain_db = +5.5db", `4: gain_db = +5.5db: gain_db is in dB already: write +5.5`,
		},
		"unit in braces": {
			gain + brace + "gain = {gain_db = 5 dB}", `6: gain = {gain_db = 5 dB}: gain_db is in dB already: write 5`,
		},
		"unit in quotes": {
			gain + `gain_db = "5 dB"`, `4: stage "gain": gain_db = "5 dB" is a string; want a number from -60 to 60 ` +
				`dB; gain_db is in dB already: write 5, without quotes`,
		},
		"unit of a whole number": {
			"[[stage]]\nkind = \"dither\"\nbits = \"24 bit\"",
			`4: stage "dither": bits = "24 bit" is a string; want a whole number from 2 to 32 bits; bits is in bits ` +
				`already: write 24, without quotes`,
		},
		"a level in decibels": {
			"ceiling_dbfs = -1 dB", `2: ceiling_dbfs = -1 dB: ceiling_dbfs is in dBFS already: write -1`,
		},
		"another unit": {
			gain + "gain_db = 5 LUFS", `4: gain_db = 5 LUFS: gain_db is in dB: write a number alone`,
		},
		"unit of a key without": {
			"[[stage]]\nkind = \"oversampled_clip\"\nfactor = 4x", `4: factor = 4x: write a number alone`,
		},
		"another mistake": {
			gain + "gain_db = 5 and more", `4: ` + ended + `'a' instead: gain_db = 5 and more`,
		},
		"typographic minus":        {gain + "gain_db = \u22125.0", "4: gain_db = \u22125.0: write -5.0"},
		"dash for a minus":         {gain + "gain_db = \u20135", "4: gain_db = \u20135: write -5"},
		"nothing before the point": {gain + "gain_db = -.5", `4: gain_db = -.5: write -0.5`},
		"nothing after the point":  {gain + "gain_db = 5.", `4: gain_db = 5.: write 5.0`},
		"comma before a long comment": {
			gain + "gain_db = 5,0 # " + strings.Repeat("x", 80) + "\r\n",
			`4: gain_db = 5,0: write 5.0`,
		},
		"a number without end": {
			"ceiling_dbfs = \"-1" + strings.Repeat("0", 70) + ",0\"",
			`2: ceiling_dbfs = "-1` + strings.Repeat("0", 54) + ` ... is a string; want a number from -60 to 0 dBFS`,
		},
		"a text without quotes": {
			"title = Night Ferry # EP", `2: title = Night Ferry: write "Night Ferry", in quotes`,
		},
		"a word without quotes":  {gain + "name = drive", `4: name = drive: write "drive", in quotes`},
		"a truth value, capital": {"[audibility]\nmeasure = False", `3: measure = False: write false`},
		"two single tables": {
			single + single, `5: [stage]: write [[stage]], in double brackets, for each stage`,
		},
		"single after double": {
			double + "[stage] # the second\n",
			`5: [stage]: write [[stage]], in double brackets, for each stage`,
		},
		"double after single": {
			single + double, `5: [[stage]]: write [[stage]], in double brackets, for each stage`,
		},
		"single": {
			single, `2: [stage] is a single table; write [[stage]], in double brackets, for each stage`,
		},
		"two single tables of deliveries": {
			"[delivery]\n[delivery] # the second",
			`3: [delivery]: write [[delivery]], in double brackets, for each delivery`,
		},
		"two single tables of a delivery's stages": {
			"[[delivery]]\n[delivery.stage]\n[delivery.stage] # the second",
			`4: [delivery.stage]: write [[delivery.stage]], in double brackets, for each stage`,
		},
		"two of another table": {
			"[output]\n[output]", `3: [output] is there twice, the other one at line 2; leave out one of the two`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
}

// A path as long as a whole file was once looked at part by part, each time
// from its beginning.
func TestProblemsOfLongPaths(t *testing.T) {
	inHarbour(t)
	parts := func(bytes int) string { return strings.Repeat("a/", bytes/2) }
	folder, source := parts(62), parts(70)+"a" // of what is shown, 72 letters are
	wantProblems(t, mixes+"[output]\nfolder = '"+parts(1_000_000)+"'", `release.toml:3: [output] folder = '`+
		folder+` ... has 1000000 bytes; want at most 1024`)
	wantProblems(t, mixes+"[output]\nfolder = '"+parts(1026)+"'", `release.toml:3: [output] folder = '`+folder+
		` ... has 1026 bytes; want at most 1024`)
	wantProblems(t, "sources = ['"+parts(1_000_000)+"*.wav']", `release.toml:1: sources: '`+source+
		` ... has 1000005 bytes; want at most 1024`)
	mustLoad(t, mixes+"[output]\nfolder = '"+parts(1024)+"'")
}
