package release

import (
	"os"
	"strings"
	"testing"
)

// edited is a release whose tracks may get settings; what a test adds comes after it.
const edited = mixes + `
[[stage]]
kind    = "gain"   # how far
name    = "drive"
gain_db = 3.0

[[stage]]
kind         = "hard_clip"
name         = "clip"
ceiling_dbfs = -1.0
`

// A file with a setting in it differs from the one before in just the bytes that say so.
func TestSettingsGoIntoTheFileInPlace(t *testing.T) {
	inHarbour(t)
	drive := TrackSetting{"02 breakwater", "drive", "gain_db", 4.5}
	for name, c := range map[string]struct{ before, after string }{
		"no table yet":  {"# the end\n", "# the end\n\n[track.\"02 breakwater\"]\ndrive.gain_db = 4.5\n"},
		"no line's end": {"# the end", "# the end\n\n[track.\"02 breakwater\"]\ndrive.gain_db = 4.5\n"},
		"replaced": {
			"[track.\"02 breakwater\"]\n\tdrive.gain_db  =  3  # loud already\n# x\n",
			"[track.\"02 breakwater\"]\n\tdrive.gain_db  =  4.5  # loud already\n# x\n",
		},
		"the last byte": {
			"[track.\"02 breakwater\"]\ndrive.gain_db=-3.25", "[track.\"02 breakwater\"]\ndrive.gain_db=4.5",
		},
		"in braces": {
			"[track.\"02 breakwater\"]\ndrive = { gain_db = 1e0 }\n",
			"[track.\"02 breakwater\"]\ndrive = { gain_db = 4.5 }\n",
		},
		"all in braces": {
			"track = { \"02 breakwater\" = { drive.gain_db = 1.0, clip = {ceiling_dbfs=-2.0} } }\n", "",
		},
		"a table of its own": {"[track.\"02 breakwater\".drive]\n\n# nothing yet\n[track.\"01 tide\"]\n" +
			"drive.gain_db = 1.0\n",
			"[track.\"02 breakwater\".drive]\ngain_db = 4.5\n\n# nothing yet\n[track.\"01 tide\"]\n" +
				"drive.gain_db = 1.0\n"},
		"after other keys": {"[track.'02 breakwater']\n  clip.ceiling_dbfs = -2.0 # low\n\n[variant.dry]\n" +
			"skip = [\"clip\"]\n",
			"[track.'02 breakwater']\n  clip.ceiling_dbfs = -2.0 # low\n  drive.gain_db = 4.5\n\n[variant.dry]\n" +
				"skip = [\"clip\"]\n"},
		"a table without keys": {
			"[track.\"02 breakwater\"]\n# none\n", "[track.\"02 breakwater\"]\ndrive.gain_db = 4.5\n# none\n",
		},
		"a list over lines": {
			"[track.\"02 breakwater\"]\nskip = [\n\t\"clip\", # dry\n]\n",
			"[track.\"02 breakwater\"]\nskip = [\n\t\"clip\", # dry\n]\ndrive.gain_db = 4.5\n",
		},
		"one table of all": {"[track]\n\"02 breakwater\".clip.ceiling_dbfs = -2.0\n" +
			"\"01 tide\".clip.ceiling_dbfs = -3.0\n",
			"[track]\n\"02 breakwater\".clip.ceiling_dbfs = -2.0\n\"02 breakwater\".drive.gain_db = 4.5\n" +
				"\"01 tide\".clip.ceiling_dbfs = -3.0\n"},
		"another track's": {
			"[track.\"01 tide\"]\ndrive.gain_db = 1.0\n",
			"[track.\"01 tide\"]\ndrive.gain_db = 1.0\n\n[track.\"02 breakwater\"]\ndrive.gain_db = 4.5\n",
		},
		"a delivery": {
			"[[delivery]]\nname = \"disc\"\n",
			"[[delivery]]\nname = \"disc\"\n\n[track.\"02 breakwater\"]\ndrive.gain_db = 4.5\n",
		},
		"a byte order mark": {"BOM", "BOM\n[track.\"02 breakwater\"]\ndrive.gain_db = 4.5\n"},
		"lines end with CR": {
			"[track.\"02 breakwater\"]\r\nclip.ceiling_dbfs = -2.0\r\n",
			"[track.\"02 breakwater\"]\r\nclip.ceiling_dbfs = -2.0\r\ndrive.gain_db = 4.5\r\n",
		},
	} {
		t.Run(name, func(t *testing.T) {
			head := edited
			if strings.Contains(c.before, "\r") {
				head = strings.ReplaceAll(edited, "\n", "\r\n")
			}
			if c.before == "BOM" {
				head, c.before, c.after = "\xef\xbb\xbf"+edited, "", c.after[len("BOM"):]
			}
			if c.after == "" { // before the stages, where a table of the top may be
				head, c.before, c.after = "", c.before+edited,
					strings.Replace(c.before, "gain_db = 1.0", "gain_db = 4.5", 1)+edited
			}
			mustLoad(t, head+c.before)
			if err := SetForTracks("release.toml", []TrackSetting{drive}); err != nil {
				t.Fatal(err)
			}
			if got := fileText(t, "release.toml"); got != head+c.after {
				t.Errorf("got\n%s\nwant\n%s", strings.TrimPrefix(got, head), c.after)
			}
			r, err := Load("release.toml")
			if err != nil {
				t.Fatal(err)
			}
			if got := settingOf(t, r, "02 breakwater", "", "drive", "gain_db"); got != 4.5 {
				t.Errorf("drive.gain_db = %v, want 4.5", got)
			}
		})
	}
}

// Where a file cannot be set, or more than the setting would change, it stays as it is to the byte.
func TestAFileThatCannotBeSetStaysAsItIs(t *testing.T) {
	inHarbour(t)
	drive := TrackSetting{"02 breakwater", "drive", "gain_db", 4.5}
	for name, c := range map[string]struct {
		add, want string
		set       TrackSetting
	}{
		"braces without the key": {"[track.\"02 breakwater\"]\ndrive = {}\n", "braces", drive},
		"no such track":          {"", `no track is named "09 far"`, TrackSetting{"09 far", "drive", "gain_db", 1}},
		"out of range":           {"", "out of range", TrackSetting{"02 breakwater", "drive", "gain_db", 400}},
		"runs into another":      {"", "are one stream", TrackSetting{"01 tide", "drive", "gain_db", 1}},
	} {
		t.Run(name, func(t *testing.T) {
			text := edited + c.add
			if name == "runs into another" {
				text = "continuous = true\n" + text
			}
			mustLoad(t, text)
			err := SetForTracks("release.toml", []TrackSetting{c.set})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want that it has %q", err, c.want)
			}
			if got := fileText(t, "release.toml"); got != text {
				t.Errorf("the file is now\n%s", got)
			}
		})
	}
}

// A release file that is a link is replaced where it is, and the link stays.
func TestALinkToAReleaseFileStays(t *testing.T) {
	inHarbour(t)
	mustLoad(t, edited)
	if err := os.Rename("release.toml", "real.toml"); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("real.toml", "release.toml"); err != nil {
		t.Skip(err)
	}
	if err := SetForTracks("release.toml", []TrackSetting{{"01 tide", "drive", "gain_db", 1}}); err != nil {
		t.Fatal(err)
	}
	info, err := os.Lstat("release.toml")
	if err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("%v, %v: want a link", info, err)
	}
	if !strings.HasSuffix(fileText(t, "real.toml"), "[track.\"01 tide\"]\ndrive.gain_db = 1.0\n") {
		t.Error("the file itself has no setting")
	}
}

// fileText is what is in a file.
func fileText(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
