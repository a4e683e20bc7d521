package release

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// tracksOf are the tracks and the sources of a release, as written.
func tracksOf(r *Release) (tracks []string) {
	for _, render := range r.Renders {
		tracks = append(tracks, render.Track+" < "+render.SourceAsWritten)
	}
	return tracks
}

func TestSources(t *testing.T) {
	folder := inFolder(t, "ep/mixes/b.wav", "ep/mixes/a.WAV", "ep/mixes/._a.wav", "ep/mixes/.wav",
		"ep/mixes/c.aif", "ep/mixes/notes.txt",
		"ep/mixes/d.wav/inside", "ep/late/e.wav", "others/f.v2.wav", "ep/mixes/[g].wav", "ep/mixes/.hidden.wav")
	t.Chdir("ep")
	for _, c := range []struct {
		sources string
		want    []string
	}{
		{`"mixes/*.wav"`, []string{"[g] < mixes/[g].wav", "b < mixes/b.wav"}},
		{`"mixes/[ab].*"`, []string{"a < mixes/a.WAV", "b < mixes/b.wav"}},
		{`"mixes/b.wav", "./mixes//*b.wav", "late/../mixes/b.wav"`, []string{"b < mixes/b.wav"}},
		{`"*/*.wav"`, []string{"[g] < mixes/[g].wav", "b < mixes/b.wav", "e < late/e.wav"}},
		{`"../others/*.wav", "late/e.wav"`, []string{"e < late/e.wav", "f.v2 < ../others/f.v2.wav"}},
		{`"*/b.wav"`, []string{"b < mixes/b.wav"}}, // release.toml is no folder
		{`"../*/f*"`, []string{"f.v2 < ../others/f.v2.wav"}},
		{`"mixes/?.aif"`, []string{"c < mixes/c.aif"}},
		{`"mixes/[[]*.wav"`, []string{"[g] < mixes/[g].wav"}},
		{`"mixes/.h*.wav"`, []string{".hidden < mixes/.hidden.wav"}},
		{
			fmt.Sprintf("%q", filepath.ToSlash(folder)+"/others/*.wav"), []string{
				"f.v2 < " + filepath.ToSlash(folder) + "/others/f.v2.wav",
			},
		},
	} {
		r := mustLoad(t, "output.folder = \"../out/masters\"\nsources = ["+c.sources+"]")
		if diff := cmp.Diff(c.want, tracksOf(r)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.sources, diff)
		}
		for _, render := range r.Renders {
			matches := func(glob string) bool {
				ok, err := filepath.Match(glob, render.Source)
				return ok && err == nil
			}
			if !slices.ContainsFunc(r.Globs, matches) {
				t.Errorf("%s: no pattern of %q matches %q", c.sources, r.Globs, render.Source)
			}
		}
	}
}

// The signs of a pattern in the name of the folder that the release is in
// are letters.
func TestSourcesInAFolderOfSigns(t *testing.T) {
	name := "[2026] Night Ferry"
	if runtime.GOOS != "windows" {
		name = `[2026] *Night\Ferry?`
	}
	inFolder(t, name+"/mixes/tide.wav")
	t.Chdir(name)
	r := mustLoad(t, `sources = ["mixes/*.wav"]`)
	if ok, err := filepath.Match(r.Globs[0], r.Renders[0].Source); !ok || err != nil {
		t.Errorf("pattern %q does not match %q: %v", r.Globs[0], r.Renders[0].Source, err)
	}
}

func TestProblemsOfSources(t *testing.T) {
	folder := inFolder(t, "mixes/tide.wav", "mixes/lamp.wav", "mixes/quay.wav", "mixes/buoy.wav",
		"mixes/fog.wav", "mixes/gull.wav", "empty/.keep", "mixes/.mp3", "mixes/live/x.wav")
	for pattern, want := range map[string]string{
		"mixes/*.flac": `"mixes/*.flac" matches no file; the folder has "buoy.wav", "fog.wav", "gull.wav", ` +
			`"lamp.wav", "live" and 2 more`,
		"mix/*.wav":       `"mix/*.wav" matches no file: there is no folder "mix"`,
		"empty/*.wav":     `"empty/*.wav" matches no file: the folder is empty`,
		"mixes/tides.wav": `there is no file "mixes/tides.wav"; did you mean "tide.wav"?`,
		"none/tide.wav":   `there is no file "none/tide.wav"`,
		"*/*/*.flac":      `"*/*/*.flac" matches no file`,
		"mixes/l?ve":      `"mixes/l?ve" matches folders only; want the files in them, such as "mixes/l?ve/*.wav"`,
		"mixes/fog.wav/*": `"mixes/fog.wav/*": open FOLDER/mixes/fog.wav: not a directory`,
		"mixes/":          `"mixes/" matches folders only; want the files in them, such as "mixes/*.wav"`,
		"mixes/.mp3":      `"mixes/.mp3" cannot name a track; want a name of plain text before the extension`,
	} {
		t.Run(pattern, func(t *testing.T) {
			text := fmt.Sprintf("sources = [\n  \"mixes/fog.wav\",\n  %q,\n]", pattern)
			wantProblems(t, text, "release.toml:3: sources: "+strings.Replace(want, "FOLDER", folder, 1))
		})
	}
}

func TestLinksAmongSources(t *testing.T) {
	folder := inFolder(t, "archive/tide-final-3.wav", "mixes/lamp.wav")
	symlink(t, "../archive/tide-final-3.wav", "mixes/tide.wav")
	r := mustLoad(t, `sources = ["mixes/*.wav"]`)
	if got := r.Renders[1].Source; got != filepath.Join(folder, "mixes", "tide.wav") {
		t.Errorf("source %q, want the link itself, whose name is the track's", got)
	}
	symlink(t, "nowhere.wav", "mixes/gone.wav")
	wantProblems(t, `sources = ["mixes/*.wav"]`,
		fmt.Sprintf("release.toml:1: sources: %q: stat %s: no such file or directory", "mixes/*.wav",
			filepath.Join(folder, "mixes", "gone.wav")))
}

func symlink(t *testing.T, to, at string) {
	t.Helper()
	if err := os.Symlink(to, at); err != nil {
		t.Skip(err) // Windows gives the right to make links to few
	}
}

func TestFolderThatCannotBeRead(t *testing.T) {
	if os.Geteuid() == 0 || runtime.GOOS == "windows" {
		t.Skip("permissions do not hold here")
	}
	folder := inHarbour(t)
	os.Chmod("mixes", 0o300)
	defer os.Chmod("mixes", 0o700)
	wantProblems(t, `sources = ["mixes/*.wav"]`,
		fmt.Sprintf("release.toml:1: sources: %q: open %s: permission denied", "mixes/*.wav",
			filepath.Join(folder, "mixes")))
}

func TestProblemsOfOutputs(t *testing.T) {
	for name, c := range map[string]struct {
		files []string
		links [][2]string // hard links: old, new
		soft  [][2]string // target, link
		text  string
		want  []string
	}{
		"two mixes of a name": {
			files: []string{"mixes/tide.wav", "late/tide.wav"},
			text:  "sources = [\n\"mixes/*.wav\",\n\"late/*.wav\"]",
			want: []string{
				`3: sources: "late/tide.wav" and "mixes/tide.wav" would both be rendered to "masters/tide.wav"; ` +
					`rename one of them`,
			},
		},
		"names alike but for capitals": {
			files: []string{"mixes/tide.wav", "mixes/Tide.WAV"},
			text:  `sources = ["mixes/*"]`,
			want: []string{
				`1: sources: "mixes/Tide.WAV" and "mixes/tide.wav" would both be rendered to "masters/tide.wav" where ` +
					`capitals do not count; rename one of them`,
			},
		},
		"the mixes' own folder": {
			files: []string{"mixes/tide.wav", "mixes/lamp.wav"},
			text:  "sources = [\"mixes/*.wav\"]\n[output]\nfolder = \"mixes\"",
			want: []string{
				`3: [output] "mixes/lamp.wav" would replace the mix "mixes/lamp.wav" (and 1 more); want another ` +
					`folder, or sources that leave it out`,
			},
		},
		"the mixes' own folder by a link": {
			files: []string{"mixes/tide.wav"},
			soft:  [][2]string{{"mixes", "masters"}},
			text:  "sources = [\"mixes/*.wav\"]\n[output]",
			want: []string{
				`2: [output] "masters/tide.wav" would replace the mix "mixes/tide.wav"; want another folder, or ` +
					`sources that leave it out`,
			},
		},
		"an output that is a link to a mix": {
			files: []string{"mixes/tide.wav", "masters/.keep"},
			soft:  [][2]string{{"../mixes/tide.wav", "masters/tide.wav"}},
			text:  `sources = ["mixes/*.wav"]`,
			want: []string{
				`1: [output] "masters/tide.wav" would replace the mix "mixes/tide.wav"; want another folder, or ` +
					`sources that leave it out`,
			},
		},
		"an output that is another mix": {
			files: []string{"mixes/tide.wav", "masters/.keep", "mixes/lamp.wav"},
			links: [][2]string{{"mixes/lamp.wav", "masters/tide.wav"}},
			text:  `sources = ["mixes/*.wav"]`,
			want: []string{
				`1: [output] "masters/tide.wav" would replace the mix "mixes/lamp.wav"; want another folder, or ` +
					`sources that leave it out`,
			},
		},
		"a mix that is a link to an output": {
			files: []string{"masters/plain/tide.wav", "mixes/.keep"},
			soft:  [][2]string{{"../masters/plain/tide.wav", "mixes/tide.wav"}},
			text:  "sources = [\"mixes/*.wav\"]\n[variant.plain]\n",
			want: []string{
				`1: [output] "masters/plain/tide.wav" would replace the mix "mixes/tide.wav"; want another folder, or ` +
					`sources that leave it out`,
			},
		},
		"a pattern that finds outputs": {
			files: []string{"mixes/tide.wav", "mixes/lamp.wav"},
			text:  "sources = [\n\"mixes/tide.wav\", \"*/*.wav\"]",
			want: []string{
				`2: sources: "*/*.wav" also matches the output "masters/lamp.wav" (and 1 more), which the next run ` +
					`would take for a mix; want a narrower pattern, or another [output] folder`,
			},
		},
		"a pattern that finds a variant's": {
			files: []string{"mixes/tide.wav", "mixes/late/lamp.wav"},
			text:  "sources = [\"mixes/*/*.wav\"]\noutput.folder = \"mixes\"\n[variant.plain]\n",
			want: []string{
				`1: sources: "mixes/*/*.wav" also matches the output "mixes/plain/lamp.wav", which the next run would ` +
					`take for a mix; want a narrower pattern, or another [output] folder`,
			},
		},
		"a pattern that finds outputs by a link": {
			files: []string{"mixes/late/lamp.wav", "mixes/done/.keep"},
			soft:  [][2]string{{"mixes/done", "masters"}},
			text:  "sources = [\"mixes/*/*.wav\"]",
			want: []string{
				`1: sources: "mixes/*/*.wav" also matches the output "masters/lamp.wav", which the next run would take ` +
					`for a mix; want a narrower pattern, or another [output] folder`,
			},
		},
		"a folder that is a file": {
			files: []string{"mixes/tide.wav", "masters"},
			text:  "sources = [\"mixes/*.wav\"]\n[output]\nencoding = \"pcm16\"\nfolder = \"./masters/\"",
			want:  []string{`4: [output] folder = "masters" is a file; want a folder`},
		},
		"beside the mixes": {
			files: []string{"mixes/tide.wav", "mixes/masters/tide.wav"},
			text:  "sources = [\"mixes/*.wav\"]\noutput.folder = \"mixes/masters\"",
		},
	} {
		t.Run(name, func(t *testing.T) {
			inFolder(t, c.files...)
			for _, l := range c.links {
				if err := os.Link(l[0], l[1]); err != nil {
					t.Skip(err)
				}
			}
			for _, l := range c.soft {
				symlink(t, l[0], l[1])
			}
			for i := range c.want {
				c.want[i] = "release.toml:" + c.want[i]
			}
			wantProblems(t, c.text, c.want...)
		})
	}
}

func TestNotes(t *testing.T) {
	inHarbour(t)
	const (
		hold     = "[[stage]]\nkind = \"ceiling_hold\"\nname = \"hold\"\nceiling_dbfs = -1\n"
		dith     = "[[stage]]\nkind = \"dither\"\nbits = 16\n"
		gain     = "[[stage]]\nkind = \"gain\"\ngain_db = "
		clip     = "[[stage]]\nkind = \"oversampled_clip\"\nname = \"clip\"\nceiling_dbfs = -1\n"
		resample = "[[stage]]\nkind = \"resample\"\nrate_hz = 48000\n"
	)
	for name, c := range map[string]struct {
		text string // after the sources and an [output] in line 2
		want []string
	}{
		"no stage": {"", []string{"2: the chain has no stage: the mixes are only written in another encoding",
			"2: no dither stage before pcm24: samples are rounded to the nearest code"}},
		"no dither": {
			hold, []string{"2: no dither stage before pcm24: samples are rounded to the nearest code"},
		},
		"no dither, named": {
			"encoding = \"pcm16\"\n" + hold, []string{
				"3: no dither stage before pcm16: samples are rounded to the nearest code",
			},
		},
		"no dither before fp": {"encoding = \"float32\"\n" + hold, nil},
		"fewer bits":          {dith, []string{`3: stage "dither" dithers to 16 bits and the files have 24`}},
		"more bits": {
			"encoding = \"pcm16\"\n[[stage]]\nkind = \"dither\"\nbits = 24\n", []string{
				`4: stage "dither" dithers to 24 bits and the files have 16: samples are rounded once more, ` +
					`without dither`,
			},
		},
		"the same bits":  {"encoding = \"pcm16\"\n" + dith, nil},
		"bits before fp": {"encoding = \"float64\"\n" + dith, nil},
		"clip after the hold": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1\n",
			[]string{`4: stage "hold" holds the ceiling before the clip "hard_clip"; a hold is usually after it`},
		},
		"clip between holds": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"hard_clip\"\nceiling_dbfs = -1\n" +
				strings.Replace(hold, "\"hold\"", "\"last\"", 1), []string{
				`4: stage "hold" holds the ceiling before the clip "hard_clip"; a hold is usually after it`,
			},
		},
		"gain behind the hold": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"gain\"\ngain_db = 0.1\n",
			[]string{`8: stage "gain" lifts what "hold" holds; samples may pass its ceiling`},
		},
		"read_by and a gain": {"encoding = \"float32\"\n" + hold + "read_by = [\"sinc49\"]\n[[stage]]\n" +
			"kind = \"gain\"\ngain_db = 0.1\n", []string{
			`4: stage "hold": read_by is not in force, as stage "gain" after it may raise peaks`,
			`9: stage "gain" lifts what "hold" holds; samples may pass its ceiling`}},
		"read_by before a hold": {
			"encoding = \"float32\"\n" + hold + "read_by = [\"exact\", \"bs1770\"]\n" +
				strings.Replace(hold, "\"hold\"", "\"last\"", 1), []string{
				`4: stage "hold": read_by is not in force, as stage "last" after it may raise peaks`,
			},
		},
		"read_by at the end": {
			"encoding = \"float32\"\n" + hold + "read_by = [\"bs1770\"]\n" + gain +
				"-6\n[[stage]]\nkind = \"measure\"\n", nil,
		},
		"exact, and a gain": {
			"encoding = \"float32\"\n" + hold + "read_by = [\"exact\"]\n" + gain + "1\n",
			[]string{`9: stage "gain" lifts what "hold" holds; samples may pass its ceiling`},
		},
		"lower behind the hold": {
			"encoding = \"float32\"\n" + hold + "[[stage]]\nkind = \"gain\"\ngain_db = -0.1\n", nil,
		},
		"gain after dither": {
			"encoding = \"pcm16\"\n" + dith + "[[stage]]\nkind = \"gain\"\ngain_db = 0.1\n",
			[]string{`7: stage "gain" is after the dither "dither" and undoes its rounding; dither is usually last`},
		},
		"measure behind dither": {"encoding = \"pcm16\"\n" + dith + "[[stage]]\nkind = \"measure\"\n", nil},
		"dither passes": {"encoding = \"pcm16\"\n" + hold + dith, []string{
			`8: stage "dither" may pass the ceiling of "hold" by up to one and a half codes; ceiling_dbfs = -1 in ` +
				`it would hold it`}},
		"rectangular passes": {"encoding = \"pcm16\"\n" + hold + dith + "density = \"rectangular\"\n", []string{
			`8: stage "dither" may pass the ceiling of "hold" by up to a code; ceiling_dbfs = -1 in it ` +
				`would hold it`}},
		"rounding passes": {"encoding = \"pcm16\"\n" + hold + dith + "density = \"none\"\nceiling_dbfs = -0.5\n",
			[]string{
				`8: stage "dither" may pass the ceiling of "hold" by up to half a code; ceiling_dbfs = -1 in it ` +
					`would hold it`}},
		"dither with a ceiling": {"encoding = \"pcm16\"\n" + hold + dith + "ceiling_dbfs = -1\n", nil},
		"dither to clip": {
			"encoding = \"pcm16\"\n" + dith + "ceiling_dbfs = -1\n", []string{
				`4: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`,
			},
		},
		"dither below the hold": {
			"encoding = \"pcm16\"\n" + hold + dith + "ceiling_dbfs = -1.5\n", []string{
				`8: stage "dither": nothing before it keeps its ceiling of -1.5 dBFS, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`,
			},
		},
		"dither below two": {"encoding = \"pcm16\"\n" + strings.Replace(hold, "-1", "-3", 1) +
			strings.Replace(hold, "\"hold\"", "\"last\"", 1) + gain + "1.5\n" + dith + "ceiling_dbfs = -1.5\n",
			[]string{
				`12: stage "gain" lifts what "last" holds; samples may pass its ceiling`}},
		"dither after a gain": {"encoding = \"pcm16\"\n" + hold + gain + "0.5\n" + dith + "ceiling_dbfs = -1\n",
			[]string{
				`8: stage "gain" lifts what "hold" holds; samples may pass its ceiling`,
				`11: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`}},
		"dither after less": {"encoding = \"pcm16\"\n" + strings.Replace(hold, "-1", "-1.1", 1) + gain + "0.1\n" +
			dith + "ceiling_dbfs = -1\n", []string{
			`8: stage "gain" lifts what "hold" holds; samples may pass its ceiling`,
			`11: stage "dither" may pass the ceiling of "hold" by up to one and a half codes; ceiling_dbfs = -1.1 ` +
				`in it would hold it`}},
		"dither after a clip": {
			"encoding = \"pcm16\"\n" + clip + dith + "ceiling_dbfs = -1\n", []string{
				`8: stage "dither" would clip what passes the ceiling of "clip" on the way back from clipping, and a ` +
					`dither is no clipper; put a ceiling_hold between them`,
			},
		},
		"dither above a clip": {
			"encoding = \"pcm16\"\n" + clip + dith + "ceiling_dbfs = -0.5\n", []string{
				`4: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"dither after a hard one": {
			"encoding = \"pcm16\"\n" + strings.Replace(clip, "oversampled", "hard", 1) + dith + "ceiling_dbfs = -1\n",
			nil,
		},
		"dither of what is up": {
			"encoding = \"pcm16\"\n" + gain + "6\n" + dith, []string{
				`7: stage "dither": nothing keeps what is turned up within full scale, so it may have to clip, and a ` +
					`dither is no clipper; put a ceiling_hold before it`,
			},
		},
		"dither of what is down": {"encoding = \"pcm16\"\n" + gain + "-6\n" + dith, nil},
		"dither of many bits":    {hold + "[[stage]]\nkind = \"dither\"\nbits = 24\n", nil},
		"a variant": {"encoding = \"pcm16\"\n" + dith + "[variant.plain]\nskip = [\"dither\"]\n[variant.same]\n" +
			"[variant.wide]\ndither.bits = 20\n", []string{
			"3: [variant.plain]: the chain has no stage: the mixes are only written in another encoding",
			"3: [variant.plain]: no dither stage before pcm16: samples are rounded to the nearest code",
			`4: [variant.wide]: stage "dither" dithers to 20 bits and the files have 16: samples are rounded once ` +
				`more, without dither`,
			"9: [variant.same]: changes nothing"}},
		"a track": {"encoding = \"pcm16\"\n" + dith + "[track.\"03 lamp\"]\ndither.bits = 15\n[variant.even]\n" +
			"dither.density = \"rectangular\"\n", []string{
			`4: [track."03 lamp"]: stage "dither" dithers to 15 bits and the files have 16`}},
		"a track over a variant": {"encoding = \"pcm16\"\n" + dith +
			"[variant.even]\ndither.density = \"rectangular\"\n[variant.wide.dither]\nbits = 15\nseed = 3\n" +
			"[track.\"03 lamp\".dither]\nseed = 3\ndensity = \"none\"\nbits = 16\n[track.\"01 tide\"]\n" +
			"dither.bits = 16\n[variant.without]\nskip = [\"dither\"]\ndither.bits = 15", []string{
			"3: [variant.without]: the chain has no stage: the mixes are only written in another encoding",
			"3: [variant.without]: no dither stage before pcm16: samples are rounded to the nearest code",
			`4: [variant.wide]: stage "dither" dithers to 15 bits and the files have 16`,
			`12: [track."03 lamp"]: stage "dither": density = "none" holds in [variant.even] too, in place of its ` +
				`"rectangular"`,
			`12: [track."03 lamp"]: stage "dither": bits = 16 holds in [variant.wide] too, in place of its 15`,
			`16: [track."01 tide"]: stage "dither": bits = 16 holds in [variant.wide] too, in place of its 15`}},
		"a track over many variants": {"encoding = \"float32\"\n" + hold +
			"[variant.a]\nhold.ceiling_dbfs = -2\n[variant.b]\nhold.ceiling_dbfs = -3\nhold.peak = \"true\"\n" +
			"[variant.c]\nhold.ceiling_dbfs = -4\n[variant.d]\nhold.ceiling_dbfs = -5\n" +
			"[track.\"03 lamp\".hold]\nceiling_dbfs = -4\npeak = \"sample\"\n", []string{
			`17: [track."03 lamp"]: stage "hold": ceiling_dbfs = -4 holds in [variant.a] (and 2 more) too, in ` +
				`place of its -2`,
			`17: [track."03 lamp"]: stage "hold": peak = "sample" holds in [variant.b] too, in place of its "true"`}},
		"a track's list over a variant's": {"encoding = \"float32\"\n" + hold +
			"[variant.a]\nhold.read_by = [\"sinc49\"]\n[track.\"03 lamp\".hold]\nread_by = [\"bs1770\", \"exact\"]\n",
			[]string{
				`10: [track."03 lamp"]: stage "hold": read_by = ["exact", "bs1770"] holds in [variant.a] too, in place ` +
					`of its ["sinc49"]`}},
		"a track of another kind": {"encoding = \"float32\"\n[[stage]]\nkind = \"oversampled_clip\"\n" +
			"name = \"clip\"\nceiling_dbfs = -1\n[variant.plain.clip]\nkind = \"hard_clip\"\nceiling_dbfs = -2\n" +
			"[track.\"03 lamp\".clip]\nfactor = 4\n[track.\"01 tide\".clip]\nceiling_dbfs = -3\n", []string{
			`4: stage "clip" may pass its ceiling on the way back to the track's rate, and no ceiling_hold follows it`,
			`13: [track."01 tide"]: stage "clip": ceiling_dbfs = -3 holds in [variant.plain] too, in ` +
				`place of its -2`}},
		"peak of a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n",
			[]string{`9: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`},
		},
		"plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\n", nil,
		},
		"peak of no plain hold": {
			"encoding = \"float32\"\n" + hold + "peak = \"sample\"\n", nil,
		},
		"variant with plain hold": {
			"encoding = \"float32\"\n" + hold + "peak = \"sample\"\n[variant.plain]\nhold.method = \"plain\"\n", nil,
		},
		"peak of a variant's plain hold": {
			"encoding = \"float32\"\n" + hold + "[variant.plain]\nhold.method = \"plain\"\nhold.peak = \"true\"\n",
			[]string{
				`10: [variant.plain]: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`,
			},
		},
		"variant without a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n[variant.banded]\n" +
				"hold.method = \"band_limited\"\n", nil,
		},
		"peak beaten in the variant without a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n[variant.banded]\n" +
				"hold.method = \"band_limited\"\nhold.peak = \"sample\"\n", []string{
				`9: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`,
			},
		},
		"track with plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\n[track.\"03 lamp\"]\nhold.peak = \"true\"\n",
			[]string{
				`10: [track."03 lamp"]: stage "hold": peak = "true" has no effect: the method "plain" holds samples only`,
			},
		},
		"track with plain hold but in a variant": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\n[track.\"03 lamp\"]\nhold.peak = \"true\"\n" +
				"[variant.banded]\nhold.method = \"band_limited\"\n", nil,
		},
		"track without a plain hold": {
			"encoding = \"float32\"\n" + hold + "method = \"plain\"\npeak = \"true\"\n[track.\"03 lamp\"]\n" +
				"hold.method = \"band_limited\"\n", nil,
		},
		"clip without a hold": {
			"encoding = \"float32\"\n" + clip, []string{
				`4: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"masked clip without a hold": {
			"encoding = \"float32\"\n[[stage]]\nkind = \"masked_clip\"\nceiling_dbfs = -1\n",
			[]string{
				`4: stage "masked_clip" leaves what its pulses cannot take down over its ceiling, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"masked clip with a hold": {
			"encoding = \"float32\"\n[[stage]]\nkind = \"masked_clip\"\nceiling_dbfs = -1\n" + hold, nil,
		},
		"two clips without a hold": {
			"encoding = \"float32\"\n" + clip + "[[stage]]\nkind = \"oversampled_clip\"\nceiling_dbfs = -2\n",
			[]string{
				`8: stage "oversampled_clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"a change of rate": {"encoding = \"pcm16\"\nremoved = true\n" + gain + "-1\n" + clip + hold + resample +
			dith + "ceiling_dbfs = -1\n[[stage]]\nkind = \"measure\"\nremoved_max_db = -20\n", []string{
			`16: stage "resample" may raise peaks, as every change of rate does, and no ceiling_hold follows it`,
			`16: stage "resample" changes the rate on the way: what the chain removed is not written`,
			`19: stage "dither": nothing before it keeps its ceiling of -1 dBFS, so it may have to clip, and a ` +
				`dither is no clipper; put a ceiling_hold before it`,
			`23: stage "measure": removed_max_db is not measured of a chain with a change of rate in it, and ` +
				`fails nothing`}},
		"a change of rate with a hold": {
			"encoding = \"pcm16\"\n" + clip + resample + hold + dith + "ceiling_dbfs = -1\n", nil,
		},
		"a change of rate first": {
			"encoding = \"pcm16\"\nremoved = true\n" + resample + clip + hold + dith +
				"ceiling_dbfs = -1\n[[stage]]\nkind = \"measure\"\nremoved_max_db = -20\n", nil,
		},
		"a change of rate after dither": {"encoding = \"pcm16\"\n" + clip + hold + dith + "ceiling_dbfs = -1\n" +
			resample + strings.Replace(hold, "\"hold\"", "\"last\"", 1), []string{
			`16: stage "resample" is after the dither "dither" and undoes its rounding; dither is usually last`}},
		"clip with a hold": {"encoding = \"float32\"\n" + clip + hold, nil},
		"clip without a hold in a variant": {
			"encoding = \"float32\"\n" + clip + hold + "[variant.bare]\nskip = [\"hold\"]\n",
			[]string{
				`4: [variant.bare]: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
					`ceiling_hold follows it`,
			},
		},
		"clip without a hold in tracks": {"encoding = \"float32\"\n" + clip + hold +
			"[track.\"01 tide\"]\nskip = [\"hold\"]\n[track.\"03 lamp\"]\nskip = [\"hold\"]\n", []string{
			`4: [track."01 tide"]: stage "clip" may pass its ceiling on the way back to the track's rate, and no ` +
				`ceiling_hold follows it`}},
		"limits that exclude": {"encoding = \"float32\"\n[[stage]]\nkind = \"measure\"\nloudness_min_lufs = -9\n" +
			"loudness_max_lufs = -14\n", []string{
			`4: stage "measure" asks for at least -9 and at most -14 LUFS, which nothing passes`}},
	} {
		t.Run(name, func(t *testing.T) {
			for i := range c.want {
				c.want[i] = "release.toml:" + c.want[i]
			}
			r := mustLoad(t, mixes+"[output]\n"+c.text)
			if diff := cmp.Diff(c.want, r.Notes); diff != "" {
				t.Errorf("notes (-want +got):\n%s", diff)
			}
		})
	}
}

// The hash is that of the meaning.
func TestHash(t *testing.T) {
	inHarbour(t)
	own := mustLoad(t, ferry).Hash
	replace := func(old, with string) string {
		if !strings.Contains(ferry, old) {
			t.Fatalf("no %q to replace", old)
		}
		return strings.Replace(ferry, old, with, 1)
	}
	for name, text := range map[string]string{
		"comments":   "# a comment\n\n" + ferry,
		"line ends":  strings.ReplaceAll(ferry, "\n", "\r\n"),
		"an integer": replace("ceiling_dbfs = -1\n", "ceiling_dbfs = -1.0e0\n"),
		"a default": replace("bits         = 16", "bits = 0x10\nseed = 0\n"+
			"density = 'triangular'"),
		"a name by default": replace("bits         = 16", "bits = 16\nname = \"dither\""),
		"a folder":          replace(`"masters"`, `"./masters/"`),
		"order of keys": replace("kind    = \"gain\"\nname    = \"drive\"\ngain_db = 4",
			"gain_db = 4\nname = 'drive'\nkind = 'gain'"),
		"order of variants": strings.Replace(replace("[variant.even]\n"+
			"dither.density = \"rectangular\"\n", ""), "[variant.plain]\n", "[variant.even.dither]\n"+
			"density = \"rectangular\"\n[variant.plain]\n", 1),
		"a track that says what is so anyway": ferry + "[track.\"01 tide\"]\ndrive.gain_db = 4\n",
		"a source twice":                      replace(`["mixes/*.wav"]`, `["mixes/*.wav", "mixes/*.wav"]`),
	} {
		if got := mustLoad(t, text).Hash; got != own {
			t.Errorf("%s changed the hash", name)
		}
	}
	for name, text := range map[string]string{
		"title":           replace("Night Ferry", "Night Ferries"),
		"ceiling":         replace("ceiling_dbfs = -1\n", "ceiling_dbfs = -1.01\n"),
		"encoding":        replace("pcm16", "pcm24"),
		"folder":          replace(`"masters"`, `"master"`),
		"matched":         replace("match_loudness = true", "match_loudness = false"),
		"removed":         replace("removed        = true", ""),
		"setting":         replace("factor       = 4", "factor = 8"),
		"name":            strings.ReplaceAll(ferry, "drive", "push"),
		"track":           replace("drive.gain_db = 5.5", "drive.gain_db = 5.6"),
		"skip of a track": replace(`skip = ["clip"]`, `skip = ["drive"]`),
		"variant":         replace("variant.even", "variant.flat"),
		"variant setting": replace("rectangular", "none"),
		"source":          replace(`["mixes/*.wav"]`, `["mixes/0*.wav"]`),
		"order of stages": replace("name    = \"drive\"\ngain_db = 4", "name = \"drive\"\ngain_db = 4\n"+
			"[[stage]]\nkind = \"measure\""),
	} {
		if mustLoad(t, text).Hash == own {
			t.Errorf("%s left the hash as it was", name)
		}
	}
	// Where the release is and which mixes there are is not in the text.
	inFolder(t, "mixes/02 breakwater.wav", "mixes/03 lamp.wav")
	if mustLoad(t, ferry).Hash != own {
		t.Errorf("another folder and one mix less changed the hash")
	}
}
