package release

import (
	"os"
	"strings"
	"testing"
)

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
