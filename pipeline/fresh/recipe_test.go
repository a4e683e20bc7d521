package fresh

import (
	"os"
	"path/filepath"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/release"
)

const manyChains = `
sources = ["*.wav"]
chunks  = "keep"
continuous = [["d", "e"]]
[tags]
album = "Harbour"
[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 3
[[stage]]
kind         = "ceiling_hold"
ceiling_dbfs = -1
[track.b]
drive.gain_db = 2
[track.c.tags]
title = "Lamp"
[variant.soft]
drive.gain_db = 1
[[delivery]]
name     = "disc"
encoding = "pcm16"
[[delivery.stage]]
kind = "dither"
bits = 16
[[delivery]]
name    = "soft disc"
variant = "soft"
[[delivery]]
name      = "flac"
container = "flac"
`

// Renders that share a chain get the recipe that each has by itself.
func TestRecipesOfRendersThatShareAChain(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"a", "b", "c", "d", "e", "f"} {
		info := audiofile.Info{Rate: 44100, Channels: 1, Frames: 10, Encoding: audiofile.PCM24}
		err := mixtest.Write(filepath.Join(folder, name+".wav"), info, func(int, int64) float64 { return 0 })
		if err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(folder, "release.toml")
	if err := os.WriteFile(path, []byte(manyChains), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := release.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	rules := Rules{Release: r}
	different := map[string]bool{}
	for range 2 {
		for i := range r.Renders {
			want := Recipe(r, &r.Renders[i])
			different[want] = true
			if got := rules.recipe(&r.Renders[i]); got != want {
				t.Errorf("%s: recipe %.8s, want %.8s", r.Renders[i].Label(), got, want)
			}
		}
	}
	if len(different) < 8 {
		t.Errorf("%d different recipes of %d renders", len(different), len(r.Renders))
	}
}
