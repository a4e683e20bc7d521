package release

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// house is what releases inherit from in these tests.
const house = `ceiling_dbfs = -1.0
sources = ["mixes/*.wav"]

[output]
encoding = "pcm16"
removed  = true

[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 4.0

[[stage]]
kind         = "hard_clip"
ceiling_dbfs = -1.0

[[stage]]
kind         = "dither"
bits         = 16

[variant.quiet]
drive.gain_db = -3.0

[[delivery]]
name     = "disc"
encoding = "pcm16"
`

// What a release says takes the place of what its house says, and means what the same would in one file.
func TestInheritedFile(t *testing.T) {
	const own = `inherit = "../house.toml"
title = "Tide"
sources = ["mixes/0[12]*.wav"]

[output]
encoding = "pcm24"

[[stage]]
kind    = "measure"
sample_peak_max_dbfs = -1.0

[[stage]]
name    = "drive"
gain_db = 5.0

[[stage]]
kind         = "oversampled_clip"
name         = "hard_clip"
ceiling_dbfs = -1.5
factor       = 4

[[stage]]
kind         = "dither"
bits         = 24

[variant.quiet]
dither.bits = 16

[variant.loud]
drive.gain_db = 9.0

[[delivery]]
name     = "video"
encoding = "float32"
`
	const asOne = `title = "Tide"
ceiling_dbfs = -1.0
sources = ["mixes/0[12]*.wav"]

[output]
encoding = "pcm24"
removed  = true

[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 5.0

[[stage]]
kind         = "oversampled_clip"
name         = "hard_clip"
ceiling_dbfs = -1.5
factor       = 4

[[stage]]
kind         = "dither"
bits         = 24

[[stage]]
kind    = "measure"
sample_peak_max_dbfs = -1.0

[variant.quiet]
drive.gain_db = -3.0
dither.bits = 16

[variant.loud]
drive.gain_db = 9.0

[[delivery]]
name     = "disc"
encoding = "pcm16"

[[delivery]]
name     = "video"
encoding = "float32"
`
	inFolder(t, "a/mixes/01 tide.wav", "a/mixes/02 breakwater.wav", "a/mixes/03 lamp.wav")
	write(t, "house.toml", house)
	write(t, "a/release.toml", own)
	got, err := Load("a/release.toml")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(got.House, "/house.toml") || strings.Contains(got.House, "..") {
		t.Errorf("it inherits from %q", got.House)
	}
	resolved, err := Resolved("a/release.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		`gain_db = 5.0  # a/release.toml:14`, `removed = true  # house.toml:6`, `[variant.quiet]`,
		`drive.gain_db = -3.0  # house.toml:22`,
	} {
		if !strings.Contains(resolved, line+"\n") {
			t.Errorf("no %q in\n%s", line, resolved)
		}
	}
	for name, text := range map[string]string{"one file": asOne, "what check --resolved prints": resolved} {
		write(t, "a/release.toml", text)
		want, err := Load("a/release.toml")
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, text)
		}
		if diff := cmp.Diff(want.Renders, got.Renders); diff != "" || want.Hash != got.Hash {
			t.Errorf("%s means something else; hashes %s and %s; %s", name, want.Hash, got.Hash, diff)
		}
	}
}

// Another ceiling in the house changes what every release means; a comment there changes nothing.
func TestAHouseIsPartOfTheMeaning(t *testing.T) {
	inFolder(t, "a/mixes/01 tide.wav")
	write(t, "a/release.toml", `inherit = "../house.toml"`)
	hash := func(house string) string {
		t.Helper()
		write(t, "house.toml", house)
		r, err := Load("a/release.toml")
		if err != nil {
			t.Fatal(err)
		}
		return r.Hash
	}
	was := hash(house)
	if hash("# A comment.\n"+house) != was {
		t.Error("a comment means something")
	}
	if hash(strings.Replace(house, "ceiling_dbfs = -1.0", "ceiling_dbfs = -1.5", 1)) == was {
		t.Error("another ceiling means nothing")
	}
}

// Problems name the file and the line that they are in, those of the release first.
func TestProblemsOfAnInheritedFile(t *testing.T) {
	folder := inFolder(t, "a/mixes/01 tide.wav")
	for name, c := range map[string]struct{ own, house, want string }{
		"in the house": {
			"inherit = \"../house.toml\"", strings.Replace(house, "gain_db = 4.0", "gain_db = 400", 1),
			`house.toml:11: stage "drive": gain_db = 400 is out of range; want a number from -60 to 60 dB`,
		},
		"in both": {
			"inherit = \"../house.toml\"\n\ntitle = 4", "titel = 5\n" + house,
			"a/release.toml:3: title = 4 is a whole number; want a string in quotes\n" +
				"house.toml:1: unknown key \"titel\"; did you mean \"title\"?",
		},
		"replaced": {
			"inherit = \"../house.toml\"\n[[stage]]\nname = \"drive\"\ngain_db = 2",
			strings.Replace(house, "gain_db = 4.0", "gain_db = 400", 1), "",
		},
		"no TOML": {
			"inherit = \"../house.toml\"", "[output\n",
			"house.toml:1: [output: a bracket is missing at its end",
		},
		"two levels": {
			"inherit = \"../house.toml\"", "inherit = \"other.toml\"\n" + house,
			`house.toml:1: inherit = "other.toml": a file that is inherited from inherits nothing itself; want ` +
				`its keys here`,
		},
		"a loop": {
			"inherit = \"release.toml\"", house,
			`a/release.toml:1: inherit = "release.toml": a file that is inherited from inherits nothing itself; ` +
				`want its keys here`,
		},
		"none": {
			"inherit = \"../hose.toml\"", house,
			`a/release.toml:1: inherit = "../hose.toml": there is no file "hose.toml"`,
		},
		"no name": {
			"inherit = 3", house, `a/release.toml:1: inherit = 3 is a whole number; want a string in quotes`,
		},
		"a folder": {
			"inherit = \"..\"", house, `a/release.toml:1: inherit = "..": "FOLDER" is a folder; want the release ` +
				`file in it, such as "FOLDER/release.toml"`,
		},
		"two of a name": {
			"inherit = \"../house.toml\"", house + "[[stage]]\nkind = \"gain\"\nname = \"drive\"\ngain_db = 1.0\n",
			`house.toml:29: two stages are named "drive", the other one at line 10; give each a name of its own`,
		},
	} {
		write(t, "house.toml", c.house)
		write(t, "a/release.toml", c.own)
		_, err := Load("a/release.toml")
		got := ""
		var problems Problems
		if err != nil {
			if !errors.As(err, &problems) {
				t.Errorf("%s: not problems: %v", name, err)
			}
			got = strings.ReplaceAll(err.Error(), folder, "FOLDER")
		}
		if got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, c.want)
		}
	}
}
