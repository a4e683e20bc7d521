package ledger

import (
	"fmt"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
)

// rendered is a ledger of some masters, each with a delivery of it, by one version of rendering.
func rendered(masters int, version string) *Ledger {
	l := New("ledgerline 0.1.0", "Night Ferry", -1, "5e1f")
	for i := range masters {
		t := render(fmt.Sprintf("%02d", i+1), "", -1, chain(4, -18.31))
		t.Recipe, t.Whole = version+" master", &Whole{}
		disc := t
		disc.Delivery, disc.Recipe, disc.Whole = "disc", version+" disc", &Whole{}
		disc.Output.File = "masters/disc/" + t.Name + ".wav"
		l.Tracks = append(l.Tracks, t, disc)
	}
	l.Sum()
	return l
}

const byAnotherVersion = " made again by another version of Ledgerline's rendering; where figures or " +
	"bytes differ, that is why, as no setting and no mix was changed"

// What only the version of rendering can explain is told in one line, and what something else explains is not
// said to come from it.
func TestCompareVersionsOfRendering(t *testing.T) {
	for _, tt := range []struct {
		name string
		edit func(l *Ledger)
		want string
	}{
		{"all", func(*Ledger) {}, "rendering: all 8 renders were" + byAnotherVersion},
		{"one", func(l *Ledger) { keepRecipes(l, 1, 8) }, "rendering: 01 was" + byAnotherVersion},
		{"few", func(l *Ledger) { keepRecipes(l, 3, 8) }, "rendering: 01; 01 (disc); 02 were" + byAnotherVersion},
		{"many", func(l *Ledger) { keepRecipes(l, 7, 8) }, "rendering: 7 renders were" + byAnotherVersion},
		{"the ceiling", func(l *Ledger) { l.CeilingDBFS = -0.5 }, "release's ceiling: -1 -> -0.5 dBFS"},
		{"the ceiling and bytes", func(l *Ledger) {
			l.CeilingDBFS, l.Tracks[2].Output.SHA256 = -0.5, "77"
		}, "release's ceiling: -1 -> -0.5 dBFS\nrendering: 02 was" + byAnotherVersion},
		{"a tag, and more by it", func(l *Ledger) {
			keepRecipes(l, 1, 8)
			l.Tracks[0].Tags = &audiofile.Tags{Title: "Quay"}
		}, "tag title: not set -> Quay (01)"},
		{"what a delivery continues", func(l *Ledger) {
			keepRecipes(l, 2, 8)
			l.Tracks[0].Output.Encoding = "pcm16"
		}, "output encoding: pcm24 -> pcm16 (01)"},
		{"chunks", func(l *Ledger) { keepRecipes(l, 1, 8); l.Tracks[0].Chunks = "keep" },
			"chunks: drop -> keep (01)"},
		{"a group", func(l *Ledger) {
			keepRecipes(l, 1, 8)
			l.Tracks[0].Continuous = []Joined{{Track: "01"}, {Track: "02"}}
		}, "continuous: not set -> 01, 02 (01)"},
		{"audibility", func(l *Ledger) { l.Tracks[0].Whole.Audibility = &Audibility{LevelDBSPL: 92} },
			"audibility: now measured (01)"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			old, new := rendered(4, "5"), rendered(4, "6")
			tt.edit(new)
			c := Compare(old, new, DefaultToleranceDB)
			var lines []string
			for _, change := range c.Changes {
				lines = append(lines, change.Line())
			}
			if got := strings.Join(lines, "\n"); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

// keepRecipes gives entries the recipes of version 5.
func keepRecipes(l *Ledger, from, to int) {
	for i, t := range rendered(len(l.Tracks)/2, "5").Tracks[from:to] {
		l.Tracks[from+i].Recipe = t.Recipe
	}
}

// A masked clip goes by a playback level that an entry without audibility does not have.
func TestCompareWithALevelThatIsNotRecorded(t *testing.T) {
	old, new := rendered(1, "5"), rendered(1, "6")
	for _, l := range []*Ledger{old, new} {
		for i := range l.Tracks {
			l.Tracks[i].Chain[1].Kind = "masked_clip"
		}
	}
	c := Compare(old, new, DefaultToleranceDB)
	want := "another version of Ledgerline's rendering or with another level_db_spl;"
	if got := c.list(); !strings.Contains(got, want) {
		t.Errorf("got %s", got)
	}
}
