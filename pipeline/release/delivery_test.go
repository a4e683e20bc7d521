package release

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// delivering is a release with a dither at its end; the deliveries follow at line 14.
const delivering = mixes + `[[stage]]
kind = "gain"
name = "drive"
gain_db = 4
[[stage]]
kind = "hard_clip"
name = "clip"
ceiling_dbfs = -1
[[stage]]
kind = "dither"
bits = 24
[variant.soft]
`

func TestProblemsOfDeliveries(t *testing.T) {
	inHarbour(t)
	for name, c := range map[string]struct{ text, want string }{
		"one table": {
			"[delivery]\nname = \"disc\"",
			`14: [delivery] is a single table; write [[delivery]], in double brackets, for each delivery`,
		},
		"no table": {
			"[track.\"01 tide\"]\n[[delivery]]\nname = \"disc\"\nstage = 3",
			`17: stage = 3 is a whole number; want a table [[delivery.stage]] for each stage`,
		},
		"no name": {
			"[[delivery]]\nencoding = \"pcm16\"",
			`14: delivery 1: name is missing; want that of its folder, such as name = "disc"`,
		},
		"name misspelt": {
			"[[delivery]]\nnaem = \"disc\"", `15: delivery 1: a delivery has no key "naem"; did you mean "name"?`,
		},
		"name no folder": {
			"[[delivery]]\nname = \"a/b\"", `15: delivery "a/b": the name is that of a folder; want one without / \ ` +
				`: * ? " < > | and control characters`,
		},
		"name reserved": {
			"[[delivery]]\nname = \"Removed\"",
			`15: delivery "Removed": "Removed" is taken in the output folder; want another name`,
		},
		"name of a copy": {
			"[[delivery]]\nname = \"matched\"",
			`15: delivery "matched": "matched" is taken in the output folder; want another name`,
		},
		"name of a variant": {
			"[[delivery]]\nname = \"Soft\"",
			`15: delivery "Soft": its folder is that of [variant.soft] where capitals do not count; want another name`,
		},
		"name of an output": {
			"[[delivery]]\nname = \"03 Lamp.wav\"",
			`15: delivery "03 Lamp.wav": its folder would be the output of the track "03 lamp"; want another name`,
		},
		"one folder": {
			"[[delivery]]\nname = \"disc\"\n[[delivery]]\nname = \"disc\"",
			`17: delivery "disc": its folder is that of the delivery at line 15; give each a name of its own`,
		},
		"from nowhere": {
			"[[delivery]]\nname = \"disc\"\nfrom = \"clap\"",
			`16: delivery "disc": from: no stage is named "clap"; did you mean "clip"?`,
		},
		"from far off": {
			"[[delivery]]\nname = \"disc\"\nfrom = \"limiter\"",
			`16: delivery "disc": from: no stage is named "limiter"; want source, drive, clip or dither`,
		},
		"from a dither": {
			"[[delivery]]\nname = \"disc\"\nfrom = \"dither\"",
			`16: delivery "disc": from = "dither" is after stage "dither", which rounds to 24 bits; want from = ` +
				`"clip", the last boundary before it`,
		},
		"no such variant": {
			"[[delivery]]\nname = \"disc\"\nvariant = \"sotf\"",
			`16: delivery "disc": no variant is named "sotf"; did you mean "soft"?`,
		},
		"container": {
			"[[delivery]]\nname = \"disc\"\ncontainer = \"tape\"",
			`16: delivery "disc": container = "tape" is not known; want "wav" or "flac"`,
		},
		"encoding": {
			"[[delivery]]\nname = \"disc\"\nencoding = \"pcm12\"",
			`16: delivery "disc": encoding = "pcm12" is not known; want "pcm16", "pcm24", "pcm32", "float32" ` +
				`or "float64"`,
		},
		"key": {
			"[[delivery]]\nname = \"disc\"\nbits = 16",
			`16: delivery "disc": a delivery has no key "bits"; it belongs to a stage of kind dither`,
		},
		"a stage's key": {
			"[[delivery]]\nname = \"disc\"\n[[delivery.stage]]\nkind = \"gain\"\ngain_dB = 3",
			`18: delivery "disc": stage "gain": gain has no key "gain_dB"; did you mean "gain_db"?`,
		},
		"a stage's kind": {
			"[[delivery]]\nname = \"disc\"\n[[delivery.stage]]\nkind = \"gian\"\ngain_db = 3",
			`17: delivery "disc": stage 1: no kind of stage is named "gian"; did you mean "gain"?`,
		},
		"a stage's name": {
			"[[delivery]]\nname = \"disc\"\n[[delivery.stage]]\nkind = \"gain\"\nname = \"clip\"\ngain_db = 3",
			`18: delivery "disc": two stages are named "clip", the other one at line 6; give each a name of its own`,
		},
		"settings together": {
			"[[delivery]]\nname = \"disc\"\n[[delivery.stage]]\nkind = \"ceiling_hold\"\nceiling_dbfs = -1\n" +
				"peak = \"sample\"\nread_by = [\"bs1770\"]",
			`16: delivery "disc": stage "ceiling_hold": ` + togetherText(t),
		},
		"a figure turned off": {"[audibility]\nmeasure = false\n[[delivery]]\nname = \"disc\"\n" +
			"[[delivery.stage]]\nkind = \"measure\"\nnoise_to_mask_max_db = -10",
			`20: delivery "disc": stage "measure": noise_to_mask_max_db = -10 asks for a figure that [audibility] ` +
				`measure = false turns off; want one of the two`},
	} {
		t.Run(name, func(t *testing.T) { wantProblems(t, delivering+c.text, "release.toml:"+c.want) })
	}
}

// togetherText is what a hold that is read by a meter and holds samples only is told.
func togetherText(t *testing.T) string {
	kind, _ := stages.KindNamed("ceiling_hold")
	s := stages.Settings{
		"ceiling_dbfs": -1.0, "peak": "sample", "read_by": stages.NewWordList([]string{"bs1770"}),
	}
	kind.Fill(s)
	text := kind.Fault(s)
	if text == "" {
		t.Fatal("nothing is wrong with it")
	}
	return text
}

// A delivery whose beginning has no dither in one variant may have one in another.
func TestADitherThatATrackSkipsIsInTheWayOfTheOthers(t *testing.T) {
	inHarbour(t)
	wantProblems(t, mixes+`[[stage]]
kind = "dither"
bits = 24
[[stage]]
kind = "gain"
gain_db = -1
[track."01 tide"]
skip = ["dither"]
[[delivery]]
name = "disc"
`, `release.toml:11: delivery "disc": it begins after stage "dither", which rounds to 24 bits; want from = `+
		`"source", the last boundary before it`)
}

// chainText is a chain by the names of its stages.
func chainText(chain []stages.Use) string {
	var names []string
	for _, s := range chain {
		names = append(names, s.Name)
	}
	return strings.Join(names, " ")
}

func TestDeliveriesAreRenders(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, delivering+`drive.gain_db = 2
[track."02 breakwater"]
skip = ["clip"]
[[delivery]]
name = "web"
from = "drive"
variant = "soft"
encoding = "float32"
[[delivery.stage]]
kind = "hard_clip"
ceiling_dbfs = -2
[[delivery]]
name = "disc"
encoding = "pcm16"
[[delivery.stage]]
kind = "dither"
bits = 16
`)
	type render struct {
		Track, Variant, Delivery, Chain string
		Encoding                        audiofile.Encoding
		Begins                          int
	}
	var got []render
	for _, x := range r.Renders {
		n := render{x.Track, x.Variant, x.Delivery, chainText(x.Chain), x.Encoding, 0}
		if x.Main != nil {
			n.Begins = x.Main.Begins
		}
		got = append(got, n)
	}
	want := []render{
		{"01 tide", "", "", "drive clip dither", "pcm24", 0},
		{"01 tide", "", "disc", "drive clip dither", "pcm16", 2},
		{"01 tide", "soft", "", "drive clip dither", "pcm24", 0},
		{"01 tide", "soft", "web", "drive hard_clip", "float32", 1},
		{"02 breakwater", "", "", "drive dither", "pcm24", 0},
		{"02 breakwater", "", "disc", "drive dither", "pcm16", 1},
		{"02 breakwater", "soft", "", "drive dither", "pcm24", 0},
		{"02 breakwater", "soft", "web", "drive hard_clip", "float32", 1},
	}
	if diff := cmp.Diff(want, got[:8]); diff != "" {
		t.Errorf("renders (-want +got):\n%s", diff)
	}
	if bits := got[1].Chain; r.Renders[1].Chain[2].Settings["bits"] != int64(16) ||
		r.Renders[3].Chain[0].Settings["gain_db"] != 2.0 {
		t.Errorf("%s: settings are not those of the delivery: %v", bits, r.Renders[1].Chain)
	}
	if out := r.Renders[3].Output; !strings.HasSuffix(out, "/masters/web/01 tide.wav") {
		t.Errorf("it goes to %q", out)
	}
}

// What is odd about a delivery's own stages is told once, and nothing of what it begins with.
func TestNotesOnDeliveries(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, delivering[:strings.Index(delivering, "[variant")]+`[[delivery]]
name = "video"
[[delivery.stage]]
kind = "resample"
rate_hz = 48000
[[delivery.stage]]
kind = "dither"
bits = 20
[[delivery]]
name = "plain"
encoding = "pcm16"
[[delivery]]
name = "held"
encoding = "float32"
[[delivery.stage]]
kind = "resample"
rate_hz = 48000
[[delivery.stage]]
kind = "ceiling_hold"
ceiling_dbfs = -1
method = "plain"
peak = "true"
`)
	for _, want := range []string{
		`release.toml:15: delivery "video": stage "resample" may raise peaks, as every change of rate does, and ` +
			`no ceiling_hold follows it`,
		`release.toml:18: delivery "video": stage "dither" dithers to 20 bits and the files have 24`,
		`release.toml:23: delivery "plain": no dither stage before pcm16: samples are rounded to the nearest code`,
	} {
		if n := len(slices.DeleteFunc(slices.Clone(r.Notes), func(s string) bool { return s != want })); n != 1 {
			t.Errorf("%q is told %d times; the notes are\n%s", want, n, strings.Join(r.Notes, "\n"))
		}
	}
	for _, n := range r.Notes {
		if strings.Contains(n, `"held"`) && strings.Contains(n, "resample") {
			t.Errorf("a resample with a hold after it: %s", n)
		}
	}
}

// What a delivery says is in the hash of a release file's meaning; a file without deliveries has the hash
// that it had.
func TestTheHashHasDeliveries(t *testing.T) {
	inHarbour(t)
	const disc = "[[delivery]]\nname = \"disc\"\nencoding = \"pcm16\"\n"
	hashes := map[string]string{}
	for name, text := range map[string]string{
		"none": "", "disc": disc, "24 bits": strings.Replace(disc, "16", "24", 1),
		"from":    disc + "from = \"drive\"\n",
		"a stage": disc + "[[delivery.stage]]\nkind = \"dither\"\nbits = 16\n",
		"variant": disc + "variant = \"soft\"\n",
	} {
		h := mustLoad(t, delivering+text).Hash
		for other, o := range hashes {
			if o == h {
				t.Errorf("%s and %s have one hash", name, other)
			}
		}
		hashes[name] = h
	}
	same := mustLoad(t, delivering+disc+"from = \"clip\" # as by default\ncontainer = \"wav\"\n").Hash
	if same != hashes["disc"] {
		t.Error("defaults that are written out change the hash")
	}
}
