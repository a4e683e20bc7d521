package release

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

// inFolder makes the working folder one with these files, empty ones.
func inFolder(t testing.TB, files ...string) string {
	t.Helper()
	folder, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(folder)
	for _, f := range files {
		write(t, f, "")
	}
	return folder
}

func write(t testing.TB, file, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// inHarbour makes the working folder one with the three mixes most tests use.
func inHarbour(t testing.TB) string {
	t.Helper()
	return inFolder(t, "mixes/01 tide.wav", "mixes/02 breakwater.wav", "mixes/03 lamp.wav")
}

// load loads a release file of this text.
func load(t testing.TB, text string) (*Release, error) {
	t.Helper()
	write(t, "release.toml", text)
	return Load("release.toml")
}

func mustLoad(t testing.TB, text string) *Release {
	t.Helper()
	r, err := load(t, text)
	if err != nil {
		t.Fatalf("load: %v", err)
	}
	return r
}

// ferry has every part of a release file.
const ferry = `title        = "Night Ferry"
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1

[output]
folder         = "masters"
encoding       = "pcm16"
match_loudness = true
removed        = true

[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 4

[[stage]]
kind         = "oversampled_clip"
name         = "clip"
ceiling_dbfs = -1.5
factor       = 4

[[stage]]
kind         = "dither"
bits         = 16
ceiling_dbfs = -1.0

[track."02 breakwater"]
drive.gain_db = 5.5
clip.factor   = 16

[track."03 lamp"]
skip = ["clip"]

[variant.plain]
skip = ["dither"]
[variant.plain.clip]
kind = "hard_clip"

[variant.even]
dither.density = "rectangular"
`

func TestLoad(t *testing.T) {
	folder := inHarbour(t)
	r := mustLoad(t, ferry)
	gain := func(db float64) stages.Use {
		return stages.Use{Name: "drive", Kind: "gain", Settings: stages.Settings{"gain_db": db}}
	}
	clip := func(factor int64) stages.Use {
		return stages.Use{
			Name: "clip", Kind: "oversampled_clip", Settings: stages.Settings{
				"ceiling_dbfs": -1.5, "factor": factor, "knee_db": 0.0, "link": false,
			},
		}
	}
	plain := stages.Use{
		Name: "clip", Kind: "hard_clip", Settings: stages.Settings{
			"ceiling_dbfs": -1.5, "knee_db": 0.0, "link": false,
		},
	}
	dither := func(density string) stages.Use {
		return stages.Use{
			Name: "dither", Kind: "dither", Settings: stages.Settings{
				"bits": int64(16), "density": density, "seed": int64(0), "shape": "none", "blank_silence": false,
				"ceiling_dbfs": -1.0,
			},
		}
	}
	render := func(track, variant string, chain ...stages.Use) Render {
		return Render{
			Track: track, Variant: variant,
			Source:          filepath.Join(folder, "mixes", track+".wav"),
			SourceAsWritten: "mixes/" + track + ".wav",
			Output:          filepath.Join(folder, "masters", variant, track+".wav"),
			Encoding:        audiofile.PCM16,
			Chain:           chain,
		}
	}
	want := &Release{
		Path: "release.toml", Folder: folder, Title: "Night Ferry", CeilingDBFS: -1,
		Output:     Output{filepath.Join(folder, "masters"), "masters", audiofile.PCM16, true, true, true},
		Audibility: Audibility{Measure: true, LevelDBSPL: 92},
		Renders: []Render{
			render("01 tide", "", gain(4), clip(4), dither("triangular")),
			render("01 tide", "even", gain(4), clip(4), dither("rectangular")),
			render("01 tide", "plain", gain(4), plain),
			render("02 breakwater", "", gain(5.5), clip(16), dither("triangular")),
			render("02 breakwater", "even", gain(5.5), clip(16), dither("rectangular")),
			render("02 breakwater", "plain", gain(5.5), plain),
			render("03 lamp", "", gain(4), dither("triangular")),
			render("03 lamp", "even", gain(4), dither("rectangular")),
			render("03 lamp", "plain", gain(4)),
		},
		Hash: r.Hash,
		Notes: []string{
			"release.toml:7: [variant.plain]: no dither stage before pcm16: samples are rounded to the nearest code",
			`release.toml:16: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
				`ceiling_hold follows it`,
			`release.toml:22: [track."03 lamp"]: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so ` +
				`it may have to clip, and a dither is no clipper; put a ceiling_hold before it`,
		},
		Globs: []string{filepath.Join(folder, "mixes", "*.wav")},
		Lines: map[string]int{"drive": 11, "clip": 16, "dither": 22},
	}
	if diff := cmp.Diff(want, r); diff != "" {
		t.Errorf("release (-want +got):\n%s", diff)
	}
	if len(r.Hash) != 64 {
		t.Errorf("hash %q is no SHA-256 in hex", r.Hash)
	}
}

func TestDefaults(t *testing.T) {
	folder := inFolder(t, "Night Ferry/mixes/tide.wav")
	t.Chdir("Night Ferry")
	r := mustLoad(t, `sources = ["mixes/tide.wav"]`)
	want := Output{
		filepath.Join(folder, "Night Ferry", "masters"), "masters", audiofile.PCM24, false, false, true,
	}
	if r.Title != "Night Ferry" || r.CeilingDBFS != 0 || r.Output != want {
		t.Errorf("title %q, ceiling %v, output %+v; want the folder's name, 0 and %+v", r.Title, r.CeilingDBFS,
			r.Output, want)
	}
	if len(r.Renders) != 1 || len(r.Renders[0].Chain) != 0 {
		t.Errorf("renders %+v, want one without a stage", r.Renders)
	}
}

// A name is the kind where none is given, numbered where that is taken.
func TestStageNames(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, `sources = ["mixes/01*.wav"]
stage = [{kind = "measure"}, {kind = "measure", name = "measure_2"}, {kind = "measure"}, {kind = "gain", gain_db = 0},
  {kind = "measure", name = "gain_2"}, {kind = "gain", gain_db = -0.0}]`)
	var got []string
	for _, s := range r.Renders[0].Chain {
		got = append(got, s.Name)
	}
	if want := "measure measure_2 measure_3 gain gain_2 gain_3"; strings.Join(got, " ") != want {
		t.Errorf("names %q, want %q", got, want)
	}
}

// A setting of a track for a kind that its stage has in one variant only.
func TestTrackSettingOfAVariant(t *testing.T) {
	inHarbour(t)
	r := mustLoad(t, `sources = ["mixes/01*.wav"]
[[stage]]
kind = "hard_clip"
name = "clip"
ceiling_dbfs = -2
[variant.fine]
clip.kind = "oversampled_clip"
[variant.hold]
clip.kind = "ceiling_hold"
clip.peak = "sample"
[track."01 tide".clip]
factor = 16
ceiling_dbfs = -3
`)
	want := []stages.Settings{
		{"ceiling_dbfs": -3.0, "knee_db": 0.0, "link": false},
		{"ceiling_dbfs": -3.0, "factor": int64(16), "knee_db": 0.0, "link": false},
		{
			"ceiling_dbfs": -3.0, "peak": "sample", "method": "band_limited", "read_by": stages.WordList("exact"),
			"link": false,
		},
	}
	for i, w := range want {
		if diff := cmp.Diff(w, r.Renders[i].Chain[0].Settings); diff != "" {
			t.Errorf("variant %q (-want +got):\n%s", r.Renders[i].Variant, diff)
		}
	}
}

func TestLoadOfNoReleaseFile(t *testing.T) {
	inFolder(t, "album/release.toml")
	write(t, "mix.wav", strings.Repeat("RIFF", maxReleaseBytes/4+1))
	for path, want := range map[string]string{
		"album":     `"album" is a folder; want the release file in it, such as "album/release.toml"`,
		"mix.wav":   `"mix.wav" has 1048580 bytes; a release file is a text of at most 1048576`,
		"none.toml": "stat none.toml: no such file or directory",
	} {
		_, err := Load(path)
		var problems Problems
		if err == nil || errors.As(err, &problems) || filepath.ToSlash(err.Error()) != want {
			t.Errorf("%s: %v, want %s", path, err, want)
		}
	}
}

// A device says that it has no bytes, and may have no end: it is not opened.
func TestLoadOfADevice(t *testing.T) {
	if _, err := os.Stat("/dev/zero"); err != nil {
		t.Skip(err)
	}
	_, err := Load("/dev/zero")
	if err == nil || !strings.Contains(err.Error(), "is a device; want an ordinary file") {
		t.Error(err)
	}
}

// 500 mixes, 100 of them with a table of their own, through three chains; the
// masters of the release's own chain are there already.
func BenchmarkLoad(b *testing.B) {
	inHarbour(b)
	text := ferry
	for i := range 497 {
		name := fmt.Sprintf("%03d night", 100+i)
		write(b, "mixes/"+name+".wav", "")
		write(b, "masters/"+name+".wav", "")
		if i < 98 {
			text += fmt.Sprintf("[track.%q]\ndrive.gain_db = 3\n", name)
		}
	}
	write(b, "release.toml", text)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Load("release.toml"); err != nil {
			b.Fatal(err)
		}
	}
}
