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
		`release.toml:1: sources: "mixes/gone.wav" is a link to a file that is not there`)
}

// A name that looks the same may be spelled otherwise: UAX #15 has a letter with its mark as one sign (NFC)
// and as two (NFD), and file names are of either form.
func TestNamesOfDecomposedLetters(t *testing.T) {
	const composed, decomposed = "01 K\u00e4se \u00fcber \u00c5", "01 Ka\u0308se u\u0308ber A\u030a"
	for _, c := range []struct{ file, written string }{{decomposed, composed}, {composed, decomposed}} {
		inFolder(t, "mixes/"+c.file+".wav")
		const hint = "; copy the name from the file: its accents are signs of their own (decomposed Unicode)"
		wantProblems(t, "sources = [\"mixes/*.wav\"]\norder = [\""+c.written+"\"]",
			fmt.Sprintf("release.toml:2: order: no track is named %q%s", c.written, hint))
		wantProblems(t, "sources = [\"mixes/"+c.written+".wav\"]",
			fmt.Sprintf("release.toml:1: sources: there is no file %q%s", "mixes/"+c.written+".wav", hint))
	}
	// Other letters are not meant, nor is a letter without its mark.
	for _, other := range []string{"01 Kose uber A", "01 Ka\u0308", "01 Kase uber A", "01 Ka\u0308se uber A"} {
		if k, ok := marksApart(other, []string{composed}); ok {
			t.Errorf("%+q is taken for %+q", other, k)
		}
	}
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
