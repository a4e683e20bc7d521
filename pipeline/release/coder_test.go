package release

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// coding is a delivery with a hold of its own; the lines of its coder follow at line 21.
const coding = delivering + `[[delivery]]
name = "web"
[[delivery.stage]]
kind = "ceiling_hold"
ceiling_dbfs = -1
[[delivery.coder]]
name = "aac"
`

const (
	encodeLine = `encode = ["ffmpeg", "-i", "{in}", "{out}.m4a"]` + "\n"
	decodeLine = `decode = ["ffmpeg", "-i", "{out}.m4a", "{back}"]` + "\n"
)

func TestProblemsOfCoders(t *testing.T) {
	inHarbour(t)
	const (
		of     = `delivery "web": coder "aac": `
		wantIn = `a list of a program and its arguments, with "{in}" for the file that it reads and "{out}" for ` +
			`the one that it writes`
		wantOf = `a list of a program and its arguments, with "{out}" for the file that it reads and "{back}" ` +
			`for the one that it writes`
	)
	for name, c := range map[string]struct{ text, want string }{
		"a key": {
			encodeLine + decodeLine + "bitrate = 256",
			`23: ` + of + `a coder has no key "bitrate"; want name, encode, decode, true_peak_max_dbtp, ` +
				`time_limit_s or solve`,
		},
		"a key misspelt": {
			encodeLine + "decod = 3\n", `22: ` + of + `a coder has no key "decod"; did you mean "decode"?`,
		},
		"no decode": {encodeLine, `19: ` + of + `decode is missing; want ` + wantOf},
		"no list": {
			`encode = "ffmpeg -i {in}"` + "\n" + decodeLine,
			`21: ` + of + `encode = "ffmpeg -i {in}" is a string; want ` + wantIn,
		},
		"an empty list": {
			`encode = []` + "\n" + decodeLine, `21: ` + of + `encode = [] names no program; want ` + wantIn,
		},
		"no program": {
			`encode = ["{in}", "{out}"]` + "\n" + decodeLine,
			`21: ` + of + `encode: "{in}" is no program; want a program before its arguments`,
		},
		"a number": {
			`encode = ["ffmpeg", 3, "{in}", "{out}"]` + "\n" + decodeLine,
			`21: ` + of + `encode: 3 is a whole number; want an argument in quotes`,
		},
		"a placeholder": {
			`encode = ["ffmpeg", "{in}", "{output}.m4a"]` + "\n" + decodeLine,
			`21: ` + of + `encode: "{output}" in "{output}.m4a" is no placeholder of it; want "{in}" for the file ` +
				`that it reads, or "{out}" for the one that it writes`,
		},
		"another's": {
			encodeLine + `decode = ["ffmpeg", "{in}", "{back}"]`,
			`22: ` + of + `decode: "{in}" in "{in}" is no placeholder of it; want "{out}" for the file that it ` +
				`reads, or "{back}" for the one that it writes`,
		},
		"one is missing": {
			`encode = ["ffmpeg", "{in}"]` + "\n" + decodeLine, `21: ` + of + `encode has no "{out}"; want ` + wantIn,
		},
		"out of range": {
			encodeLine + decodeLine + "time_limit_s = 0",
			`23: ` + of + `time_limit_s = 0 is out of range; want a number from 1 to 86400 s`,
		},
		"no limit": {
			encodeLine + decodeLine + "solve = true",
			`23: ` + of + `solve = true seeks a ceiling for a limit; want true_peak_max_dbtp, too`,
		},
		"no hold": {encodeLine + decodeLine + "[[delivery]]\nname = \"disc\"\n[[delivery.coder]]\n" +
			"name = \"mp3\"\n" + encodeLine + decodeLine + "true_peak_max_dbtp = 0\nsolve = true",
			`30: delivery "disc": coder "mp3": solve = true lowers a ceiling_hold of the delivery's own, and it has ` +
				`none; add a [[delivery.stage]] of that kind, or leave solve out`},
		"of one name": {
			encodeLine + decodeLine + "[[delivery.coder]]\nname = \"aac\"\n" + encodeLine + decodeLine,
			`24: delivery "web": two coders are named "aac", the other one at line 20; give each a name of its own`,
		},
		"no name": {
			encodeLine + decodeLine + "[[delivery.coder]]\n" + encodeLine + decodeLine,
			`23: delivery "web": coder 2: name is missing; want one for the ledger, such as name = "aac256"`,
		},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, coding+c.text, "release.toml:"+c.want) })
	}
	wantProblems(t, delivering+"[[delivery]]\nname = \"web\"\n[delivery.coder]\nname = \"aac\"",
		`release.toml:16: delivery "web": [delivery.coder] is a single table; write [[delivery.coder]], in `+
			`double brackets, for each coder`)
	wantProblems(t, delivering+"[[delivery]]\nname = \"web\"\nencode = [\"ffmpeg\"]",
		`release.toml:16: delivery "web": a delivery has no key "encode"; it belongs in a [[delivery.coder]]`)
}

func TestCodersOfRenders(t *testing.T) {
	inHarbour(t)
	plain := mustLoad(t, coding+encodeLine+decodeLine)
	r := mustLoad(t, coding+encodeLine+decodeLine+"true_peak_max_dbtp = -0.1\nsolve = true\ntime_limit_s = 30")
	at := slices.IndexFunc(r.Renders, func(x Render) bool { return x.Delivery == "web" })
	x := r.Renders[at]
	limit := -0.1
	want := []Coder{{
		Name: "aac", Encode: []string{"ffmpeg", "-i", "{in}", "{out}.m4a"},
		Decode: []string{"ffmpeg", "-i", "{out}.m4a", "{back}"}, At: "release.toml:20",
		TruePeakMaxDBTP: &limit, TimeLimitS: 30, Solve: true,
	}}
	if diff := cmp.Diff(want, x.Coders); diff != "" {
		t.Error(diff)
	}
	if k := x.Solved(); x.Chain[k].Name != "ceiling_hold" || r.Renders[0].Solved() != -1 ||
		plain.Renders[at].Solved() != -1 {
		t.Errorf("the hold is stage %d", k)
	}
	if plain.Renders[at].Coders[0].TimeLimitS != 600 || plain.Hash == r.Hash ||
		mustLoad(t, coding+encodeLine+decodeLine+"time_limit_s = 30").Hash != plain.Hash {
		t.Error("the hash is not that of what the file means")
	}
}
