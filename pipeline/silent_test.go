package pipeline

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
)

// level is a tune of equal samples.
func level(x float64) func(int, int64) float64 { return func(int, int64) float64 { return x } }

// A silent mix is told of before it is rendered, and after it. One that begins with silence, or is silent in
// one channel, is none.
func TestNotesOnSilentMixes(t *testing.T) {
	d := newDesk(t)
	mono := func(frames int64) audiofile.Info {
		return audiofile.Info{Rate: 44100, Channels: 1, Frames: frames, Encoding: audiofile.PCM16}
	}
	d.mix("mixes/a.wav", mono(900), level(1.0/32768))
	d.mix("mixes/b.wav", mono(900), level(0))
	d.mix("mixes/c.wav", mono(0), level(0))
	d.mix("mixes/d.wav", stereo(20000), func(channel int, frame int64) float64 {
		if channel == 1 && frame == 19999 {
			return 1.0 / 32768
		}
		return 0
	})
	d.write("release.toml", "sources = [\"mixes/*.wav\"]\n[variant.a]\n")
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	forecast := func(want ...string) {
		t.Helper()
		results, err := Forecast(context.Background(), r, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, r.SilentMixes(results.Silent())); d != "" {
			t.Errorf("forecast (-want +got):\n%s", d)
		}
	}
	render := func(want ...string) {
		t.Helper()
		for _, what := range []string{"rendered", "kept"} {
			out, err := RenderRelease(context.Background(), r, Options{})
			if err != nil || out.Failed() > 0 {
				t.Fatal(err, out)
			}
			if d := cmp.Diff(want, r.SilentMixes(out.Silent())); d != "" {
				t.Errorf("%s (-want +got):\n%s", what, d)
			}
		}
	}
	forecast("mixes/b.wav is silent: all its samples are zero")
	render("mixes/b.wav is silent: all its samples are zero")
	forecast("mixes/b.wav is silent: all its samples are zero")
	d.mix("mixes/a.wav", mono(800), level(0))
	forecast("2 mixes are silent: all their samples are zero (first: mixes/a.wav)")
	render("2 mixes are silent: all their samples are zero (first: mixes/a.wav)")
}
