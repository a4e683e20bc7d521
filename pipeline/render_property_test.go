package pipeline

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/stages/stagetest/long"
)

// A project is a small release under edit: what its release file says and
// which mixes there are.
type project struct {
	*desk
	drive, ceiling float64
	encoding       string
	removed, match bool
	skip           bool            // the second track's clip
	variants       map[string]bool // by name
	mixes          map[string]int  // tune by track
}

// say writes the release file.
func (p *project) say() {
	var b strings.Builder
	fmt.Fprintf(&b, "sources = [\"mixes/*.wav\"]\nceiling_dbfs = %v\n", p.ceiling)
	fmt.Fprintf(&b, "[output]\nencoding = %q\nremoved = %v\nmatch_loudness = %v\n", p.encoding,
		p.removed, p.match)
	fmt.Fprintf(&b, "[[stage]]\nkind = \"gain\"\nname = \"drive\"\ngain_db = %v\n", p.drive)
	b.WriteString("[[stage]]\nkind = \"hard_clip\"\nname = \"clip\"\nceiling_dbfs = -1.0\n")
	b.WriteString("[[stage]]\nkind = \"dither\"\nbits = 16\n")
	b.WriteString("[[stage]]\nkind = \"measure\"\novers_max = 0\n")
	if _, there := p.mixes["b"]; there && p.skip {
		b.WriteString("[track.b]\nskip = [\"clip\"]\n")
	}
	for _, v := range []string{"loud", "soft"} {
		if p.variants[v] {
			fmt.Fprintf(&b, "[variant.%s]\ndrive.gain_db = %v\n", v, map[string]float64{"loud": 9, "soft": -4.5}[v])
		}
	}
	p.write("release.toml", b.String())
}

// compose writes a mix: half a second at the lowest rate, which is enough to
// have a loudness.
func (p *project) compose(track string, tune int) {
	p.mixes[track] = tune
	info := audiofile.Info{Rate: 8000, Channels: 1, Frames: int64(4000 + 13*tune), Encoding: audiofile.PCM16}
	p.mix("mixes/"+track+".wav", info, tone(tune))
}

// edits are the things that happen to a project between two renders.
func (p *project) edits() map[string]func(*rapid.T) {
	toggle := func(b *bool) func(*rapid.T) { return func(*rapid.T) { *b = !*b; p.say() } }
	pick := func(t *rapid.T, what string, from ...string) string { return rapid.SampledFrom(from).Draw(t, what) }
	return map[string]func(*rapid.T){
		"drive":    func(t *rapid.T) { p.drive = float64(rapid.IntRange(0, 3).Draw(t, "dB")); p.say() },
		"ceiling":  func(t *rapid.T) { p.ceiling = -float64(rapid.IntRange(0, 1).Draw(t, "dB")); p.say() },
		"encoding": func(t *rapid.T) { p.encoding = pick(t, "encoding", "pcm16", "pcm24", "float32"); p.say() },
		"removed":  toggle(&p.removed),
		"match":    toggle(&p.match),
		"skip":     toggle(&p.skip),
		"variant": func(t *rapid.T) {
			v := pick(t, "variant", "loud", "soft")
			p.variants[v] = !p.variants[v]
			p.say()
		},
		"compose": func(t *rapid.T) {
			p.compose(pick(t, "track", "a", "b", "c"), rapid.IntRange(1, 3).Draw(t, "tune"))
		},
		"discard": func(t *rapid.T) {
			if track := pick(t, "track", "b", "c"); len(p.mixes) > 1 {
				delete(p.mixes, track)
				_ = os.Remove(p.path("mixes/" + track + ".wav"))
				p.say()
			}
		},
		"damage": func(t *rapid.T) {
			name := "masters/" + pick(t, "folder", "", "loud/", "removed/", "matched/", "soft/matched/") +
				pick(t, "track", "a", "b") + ".wav"
			if _, err := os.Stat(p.path(name)); err == nil {
				p.flip(name)
			}
		},
		"lose": func(t *rapid.T) {
			name := pick(t, "file", "a.wav", "soft/b.wav", "matched/a.wav",
				ledger.FileName, fresh.StateName, fresh.BriefName)
			_ = os.Remove(p.path("masters/" + name))
			if !p.has(ledger.FileName) && !p.has(fresh.StateName) {
				p.render(Options{Replace: true}) // nothing tells that the masters are the release's own
			}
		},
		"some": func(t *rapid.T) {
			_, err := p.try(t.Context(), Options{Tracks: []string{"a"}, Variants: []string{""}, Jobs: 2})
			p.must(err)
		},
		"render": func(t *rapid.T) { p.render(Options{Brief: rapid.Bool().Draw(t, "brief")}) },
	}
}

func (p *project) has(name string) bool {
	_, err := os.Stat(p.path("masters/" + name))
	return err == nil
}

// Whatever was edited, lost, damaged and rendered before: a render leaves what
// a first render of the same mixes by the same release file would make.
func TestRenderAfterAnyEditsIsARenderFromScratch(t *testing.T) {
	long.Only(t, "TestOnlyWhatChangedIsRendered has each edit by itself")
	long.Checks(t, 2)
	inBrief(t)
	rapid.Check(t, func(t *rapid.T) {
		folder, err := os.MkdirTemp("", "project")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(folder)
		p := &project{
			desk:    &desk{t: t, folder: folder, files: onDisk, block: 1000},
			removed: rapid.Bool().Draw(t, "removed"), match: rapid.Bool().Draw(t, "match"),
			encoding: "pcm16", variants: map[string]bool{"loud": true}, mixes: map[string]int{},
		}
		p.compose("a", 1)
		p.compose("b", 2)
		p.say()
		p.render(Options{})
		edits := p.edits()
		names := rapid.SampledFrom([]string{"drive", "ceiling", "encoding", "removed", "match", "skip",
			"variant", "compose", "discard", "damage", "lose", "some", "render"})
		for _, name := range rapid.SliceOfN(names, 1, 6).Draw(t, "edits") {
			edits[name](t)
		}
		p.render(Options{Brief: true})
		p.sameFromScratch(Options{})
	})
}
