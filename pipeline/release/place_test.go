package release

import (
	"fmt"
	"strings"
	"testing"
)

// The same mistake in the first, the middle and the last of several stages:
// reading by BurntSushi/toml alone names the last stage that has the key, and
// passes over a key that any other stage takes.
func TestStageAndLineNamed(t *testing.T) {
	inHarbour(t)
	for name, c := range map[string]struct{ bad, fault string }{
		"type": {
			`gain_db = "4"`, `stage "%s": gain_db = "4" is a string; want a number from -60 to 60 dB, without quotes`,
		},
		"range": {
			`gain_db = 400`, `stage "%s": gain_db = 400 is out of range; want a number from -60 to 60 dB`,
		},
		"unknown": {"gain_db = 0\nciel = 1", `stage "%s": gain has no key "ciel"; want kind, name or gain_db`},
		"elsewhere": {
			"gain_db = 0\nbits = 16", `stage "%s": gain has no key "bits"; it belongs to a stage of kind dither`,
		},
		"missing": {"# gain_db = 4", `stage "%s": gain needs gain_db; want a number from -60 to 60 dB`},
	} {
		for at, stage := range []string{"first", "middle", "last"} {
			t.Run(name+" "+stage, func(t *testing.T) {
				text, line := mixes, 0
				for i, s := range []string{"first", "middle", "last"} {
					from := strings.Count(text, "\n") + 1 // of [[stage]]
					text += fmt.Sprintf("[[stage]]\nname = %q\nkind = \"gain\"\n", s)
					if i != at {
						text += "gain_db = 1\n"
						continue
					}
					text += c.bad + "\n"
					// The last line of bad is the wrong one, or nothing is and [[stage]] stands for it.
					if line = from + 3 + strings.Count(c.bad, "\n"); name == "missing" {
						line = from
					}
				}
				text += "[[stage]]\nkind = \"dither\"\nbits = 24\n"
				wantProblems(t, text, fmt.Sprintf("release.toml:%d: "+c.fault, line, stage))
			})
		}
	}
}

// What may come before a mistake must not move its line.
func TestLinesAfterOtherThings(t *testing.T) {
	inHarbour(t)
	for name, c := range map[string]struct {
		text string
		line int
	}{
		"comments": {`# [[stage]]
sources = ["mixes/*.wav"] # "
[[stage]] # gain_db = "4"
# gain_db = "4"
kind = "gain" # '''
gain_db = "4"
`, 6},
		"strings of many lines": {`sources = ["mixes/*.wav"]
title = """\
Night \
Ferry [[stage]]"""
[[stage]]
kind = "gain"
gain_db = 4
name = '''

drive'''
[[stage]]
kind = "gain"
gain_db = "4"
`, 13},
		"arrays of many lines": {`sources = [
  "mixes/01*.wav", # ]
  'mixes/02*.wav',

]
[[stage]]
kind = "gain"
gain_db = "4"
`, 8},
		"dotted keys": {`sources = ["mixes/*.wav"]
output.folder = "masters"
output . encoding = "pcm24"
stage = [ {kind = "gain", gain_db = 3},
  {kind = "gain",
   gain_db = "4"}]
`, 6},
		"tables in braces": {`sources = ["mixes/*.wav"]
output = {folder = "masters", encoding = "pcm24"}
stage = [
  {kind = "gain", gain_db = 3}, {kind = "gain", gain_db = 1},

  { # a table may take many lines
    kind = "gain",
    gain_db = "4", # here
  },
]
`, 8},
		"spaces in a header": {
			"sources = [\"mixes/*.wav\"]\n\n [[ stage ]]\n\tkind = \"gain\"\n\tgain_db = \"4\"\n", 5,
		},
		"Windows line ends": {
			"sources = [\"mixes/*.wav\"]\r\n\r\n[[stage]]\r\nkind = \"gain\"\r\ngain_db = \"4\"\r\n", 5,
		},
		"a byte order mark": {
			"\ufeffsources = [\"mixes/*.wav\"]\n[[stage]]\nkind = \"gain\"\ngain_db = \"4\"\n", 4,
		},
		"no end of line": {"sources = [\"mixes/*.wav\"]\n[[stage]]\nkind = \"gain\"\ngain_db = \"4\"", 4},
		"letters of many bytes": {`title = "Nachtfähre – 夜の渡し船"
sources = ["mixes/*.wav"]
[[stage]]
kind = "gain"
gain_db = "4"
`, 5},
	} {
		t.Run(name, func(t *testing.T) {
			text, stage := c.text, "gain"
			var want []string
			switch name {
			case "strings of many lines":
				want = []string{"release.toml:8: stage 1: name = ''' ... has control characters; want plain text"}
				stage = "gain_2"
			case "dotted keys":
				stage = "gain_2"
			case "tables in braces":
				stage = "gain_3"
			}
			want = append(want,
				fmt.Sprintf(`release.toml:%d: stage %q: gain_db = "4" is a string; want a number from -60 to 60 dB, `+
					`without quotes`, c.line, stage))
			wantProblems(t, text, want...)
		})
	}
}

// A key may be written in several ways, and a table be opened by several headers.
func TestWaysOfWriting(t *testing.T) {
	inHarbour(t)
	wantProblems(t, `sources = ["mixes/*.wav"]
[[stage]]
"kind" = 'gain'
name = "drive"
"gain\u005Fdb" = "4"
[stage.more]
x = 1
[track."02 breakwater".drive]
gain_db = "5"
[track.'03 lamp']
"drive".gain_db = 99
[variant.plain.drive]
gain_db = "6"
[variant.plain]
skip = [ [1], "drive", {} ]
`,
		`release.toml:5: stage "drive": "gain\u005Fdb" = "4" is a string; want a number from -60 to 60 dB, `+
			`without quotes`,
		`release.toml:6: stage "drive": gain has no key "more"; want kind, name or gain_db`,
		`release.toml:9: [track."02 breakwater"]: stage "drive": gain_db = "5" is a string; want a number from `+
			`-60 to 60 dB, without quotes`,
		`release.toml:11: [track."03 lamp"]: stage "drive": "drive".gain_db = 99 is out of range; want a number `+
			`from -60 to 60 dB`,
		`release.toml:13: [variant.plain]: stage "drive": gain_db = "6" is a string; want a number from -60 to `+
			`60 dB, without quotes, or one with its sign in quotes, such as "+1.5", to add to what a track has`,
		`release.toml:15: [variant.plain]: skip: skip = [ [1], "drive", {} ] is a list; want a stage's `+
			`name in quotes`,
		`release.toml:15: [variant.plain]: skip: {...} is a table; want a stage's name in quotes`,
	)
}

func TestNotTOML(t *testing.T) {
	inHarbour(t)
	for text, want := range map[string]string{
		"title = \nx = 1\n": `1: not TOML: expected value but found '\n' ` +
			`instead: title =`,
		"title = Night Ferry\n":      `1: title = Night Ferry: write "Night Ferry", in quotes`,
		"title = \"Night\nFerry\"\n": `1: title = "Night: a quote is missing at its end`,
		"\ufeff\r\n\r\ntitle = 1 2\r\n": `3: not TOML: expected a top-level item to end with a ` +
			`newline, comment, or EOF, but got '2' instead: title = 1 2`,
		"[output\nfolder = \"x\"\n":   `1: [output: a bracket is missing at its end`,
		"[[stage]\nkind = \"gain\"\n": `1: [[stage]: a bracket is missing at its end`,
		"x = 1\n[track.02 breakwater]\n": `2: not TOML: expected '.' or ']' to end table name, but got 'b' ` +
			`instead: [track.02 breakwater]; want a name in quotes where it is more than a word`,
		"a = [1,\n2\n3]\n":  `3: not TOML: expected a comma (',') or array terminator (']'), but got '3': 3]`,
		"x = '\xff'\n":      `1: x = '?': save the file as UTF-8, which TOML is`,
		"title = \"\\q\"\n": `1: title = "\q": \ begins an escape in double quotes; write / between folders`,
		"\x00\x01": `1: not TOML: files cannot contain NULL bytes; probably using UTF-16; TOML files ` +
			`must be UTF-8`,
		"x = 1\x1b[31m\n": `1: not TOML: TOML files cannot contain control characters: '0x1b': x = 1 [31m`,
		"[[stage]]\na = 1\n[[stage]]\na = 2\n\na = 3": `6: a = 3: a is there twice, the other one at line 4; ` +
			`leave out one of the two`,
		"title = 'a'\n\ntitle = 'b'\nx = 1\n": `3: title = 'b': title is there twice, the other one at line ` +
			`1; leave out one of the two`,
		"[[s]]\ng = 9.0\ng = 8.0\n[[s]]\ng = 7.0": `3: g = 8.0: g is there twice, the other one at line 2; leave ` +
			`out one of the two`,
		"a = { b = 1,\n'c d' = 2, \"c d\" = 3 }": `2: 'c d' = 2, "c d" = 3 }: "c d" is there twice, the other ` +
			`one at line 2; leave out one of the two`,
		"a.b = 1\n[a]\nb = 2": `3: b = 2: b is there twice, the other one at line 1; leave out one of the two`,
		"[a]\nx = 1\n[a]\n":   `3: [a] is there twice, the other one at line 1; leave out one of the two`,
		"x = 1e999\n":         `1: x = 1e999: no setting takes a number of that size`,
	} {
		t.Run(text, func(t *testing.T) { wantProblems(t, text, "release.toml:"+want) })
	}
}

// A mark of UTF-16 before a text that is none: one parser reads over it, the
// other stops, and what has no place is still told.
func TestKeysWithoutPlaces(t *testing.T) {
	inHarbour(t)
	wantProblems(t, "\xff\xfe# x\nunknown.key = 1\n\n"+mixes+"title = 4",
		`release.toml:1: unknown key "unknown"; want title, sources, ceiling_dbfs, continuous, order, gaps_s, `+
			`chunks, output, tags, audibility, survey, stage, track, variant, delivery or inherit`,
		"release.toml:1: title is a whole number; want a string in quotes")
}

// Deep nesting costs the reader's stack and memory before anything is known of
// the file: it is refused at once.
func TestTooDeep(t *testing.T) {
	inHarbour(t)
	const want = "release.toml:2: not TOML that a release has: more than 1000 brackets open or dots in one line"
	for _, s := range []string{"[", "{a=", "a.", "a=[{"} {
		wantProblems(t, mixes+strings.Repeat(s, 100_000), want)
	}
	deep := strings.Repeat("[", 1000) + strings.Repeat("]", 1000)
	wantProblems(t, mixes+"title = "+deep, "release.toml:2: title = "+strings.Repeat("[", 64)+
		" ... is a list; want a string in quotes")
}

// FuzzLoad reads anything. Whatever is wrong has a line of the text, and what
// can be shown on a terminal.
func FuzzLoad(f *testing.F) {
	for _, s := range []string{
		ferry, "", "[", "stage = [[{}]]", "[[stage]]\nkind = 'gain'\n[stage.x]\n[[stage.x.y]]",
		"a.b.c = {d = {e = [1, {}]}}", "x = 0x", "\xff\xfe",
		"a = {}\n[a.b]\n", "a = [{}]\n[a.b]", "[track.x]\n[[track.x.clip]]\n", "stage = []\n[stage.x]",
		"a = '''\r\n''' \r\n b = \"\\\n\n\" ", "'' = 1\n[variant.'']\n", "sources = [[]]",
		"[[stage]]\nkind = \"dither\"\nbits = 1_6\nseed = 0o17\n[variant.v]\ndither.kind = \"gain\"\ngain_db = nan",
		"sources = ['a']\n[[stage]]\nkind = 'gain'\ngain_db = 5\n[variant.v]\ngain.gain_db = '+1.5'\n[track.t]\n" +
			"gain.gain_db = -3.1", "[[stage]]\ngain_db = 5,0 dB", "[stage]\n[stage]",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		c := &checker{file: "release.toml"}
		var d *draft
		if root := c.parse(text); root != nil {
			d = c.check(root)
		} else if len(c.problems) == 0 {
			t.Fatal("neither a tree nor a problem")
		}
		problems := c.problems
		for _, p := range problems {
			if p.Line < 1 || p.Line > strings.Count(string(text), "\n")+1 || !printable(p.Text) {
				t.Fatalf("problem %+v", p)
			}
		}
		if len(problems) == 0 {
			d.hash(d.chains())
			d.notes(c, d.chains(), nil, 0)
		}
	})
}
