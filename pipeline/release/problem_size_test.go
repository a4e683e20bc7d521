package release

import (
	"fmt"
	"strings"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// What would take more memory than there is, is refused before it is resolved.
func TestProblemsOfTooMuch(t *testing.T) {
	inHarbour(t)
	const gain = "[[stage]]\nkind = \"gain\"\ngain_db = 1\n" // three lines
	tables := func(sort string, n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "[%s.%c%d]\n", sort, sort[0], i)
		}
		return b.String()
	}
	for name, c := range map[string]struct{ text, want string }{
		"stages": {strings.Repeat(gain, 101), "302: a chain of 101 stages; want at most 100"},
		"variants and tracks": {
			gain + tables("track", 400) + tables("variant", 498),
			"405: variants: 498, tables of tracks: 400; their chains have 200099 stages together; want at most 200000",
		},
		"variants": {
			strings.Repeat(gain, 100) + tables("variant", 2000),
			"302: variants: 2000, tables of tracks: 0; their chains have 200100 stages together; want at most 200000",
		},
		"tracks": {
			strings.Repeat(gain, 100) + tables("track", 2000),
			"302: variants: 0, tables of tracks: 2000; their chains have 200100 stages together; want at most 200000",
		},
		"renders": {
			tables("variant", 33333), "2: variants: 33333, mixes: 3; with the release's own chain that makes 100002 " +
				"renders; want at most 100000",
		},
	} {
		if (name == "variants" || name == "tracks" || name == "renders") && !long.Wanted() {
			continue // the two together are too many as well, and so are renders of many mixes
		}
		t.Run(name, func(t *testing.T) { wantProblems(t, mixes+c.text, "release.toml:"+c.want) })
	}
	for i := range 250 {
		write(t, fmt.Sprintf("many/%d.wav", i), "")
	}
	t.Run("renders of many mixes", func(t *testing.T) {
		wantProblems(t, "sources = ['many/*.wav']\n"+tables("variant", 400), "release.toml:2: variants: 400, "+
			"mixes: 250; with the release's own chain that makes 100250 renders; want at most 100000")
	})
	for name, text := range map[string]string{
		"stages":   strings.Repeat(gain, 100),
		"variants": strings.Repeat(gain, 100) + tables("variant", 1999),
		"renders":  tables("variant", 33332),
	} {
		if name != "stages" && !long.Wanted() {
			continue
		}
		t.Run(name+", as many as may be", func(t *testing.T) { mustLoad(t, mixes+text) })
	}
}

// Everything that is wrong is said at once, in the order of the lines.
// Names and titles are to fit into a message, and where they name a file with
// its extension into the 255 bytes of a usual file system's names.
func TestProblemsOfLongNames(t *testing.T) {
	inFolder(t, "mixes/"+strings.Repeat("m", 251)+".wav", "mixes/02 breakwater.wav")
	const measure = mixes + "[[stage]]\nkind = \"measure\"\n"
	x := func(n int) string { return strings.Repeat("x", n) }
	for name, c := range map[string]struct{ before, after, want string }{
		"title": {
			mixes + "title = '", "'", `2: title = '` + x(63) + ` ... has %d bytes; want at most 251`,
		},
		"stage": {
			measure + "name = '", "'", `4: stage 1: name = '` + x(64) + ` ... has %d bytes; want at most 251`,
		},
		"variant": {
			mixes + "[variant.'", "']", `2: [variant.'` + x(63) + ` ...]: the name has %d bytes; want at most 251`,
		},
		"variant's keys": {
			mixes + "[variant.'", "']\na = 1\nb = 2",
			`2: [variant.'` + x(63) + ` ...]: the name has %d bytes; want at most 251`,
		},
		"track": {
			mixes + "[track.'", "']", `2: [track.'` + x(65) + ` ...]: the name has %d bytes; want at most 251`,
		},
		"folder": {
			mixes + "output.folder = 'a/", "/b'",
			`2: [output] output.folder = 'a/` + x(53) + ` ... has a name of %d bytes in it; want at most 251`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			for _, n := range []int{252, 300_000} {
				wantProblems(t, c.before+x(n)+c.after, "release.toml:"+fmt.Sprintf(c.want, n))
			}
			if name == "track" || name == "variant's keys" {
				return // there is no such track, and no such key
			}
			wantProblems(t, c.before+x(251)+c.after)
			wantProblems(t, c.before+x(249)+"é"+c.after)
			wantProblems(t, c.before+x(250)+"é"+c.after, "release.toml:"+fmt.Sprintf(c.want, 252))
		})
	}
	flac := "[[delivery]]\nname = \"shop\"\ncontainer = \"flac\"\n"
	wantProblems(t, mixes+flac, `release.toml:3: delivery "shop": the track of "mixes/`+strings.Repeat("m", 66)+
		` ..." has a name of 251 bytes; want at most 250 before .flac`)
	wantProblems(t, mixes+strings.Replace(flac, "flac", "wav", 1))
	wantProblems(t, "sources = [\"mixes/0*.wav\"]\n"+flac)
	long := strings.Repeat("n", 252)
	write(t, "mixes/"+long, "") // ".wav" is added to it
	wantProblems(t, "sources = [\"mixes/n*\"]", `release.toml:1: sources: "mixes/`+long+
		`" cannot name a track of 252 bytes; want at most 251 before the extension`)
}
