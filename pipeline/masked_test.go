package pipeline

import (
	"context"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
)

const maskedRelease = `sources = ["mixes/*.wav"]
[output]
encoding = "float32"
[[stage]]
kind    = "gain"
gain_db = 6.0
[[stage]]
kind         = "masked_clip"
ceiling_dbfs = -1.0
[[stage]]
kind         = "ceiling_hold"
ceiling_dbfs = -1.0
`

// A render, and a check after it, note a masked clip of which too many samples are over.
func TestMaskedClipDrivenFarIsNoted(t *testing.T) {
	d := newDesk(t)
	info := audiofile.Info{Rate: 44100, Channels: 1, Frames: 8000, Encoding: audiofile.PCM16}
	d.mix("mixes/loud.wav", info, tone(1))
	d.mix("mixes/soft.wav", info, func(c int, n int64) float64 { return tone(1)(c, n) / 4 })
	d.write("release.toml", maskedRelease)
	r, err := release.Load(d.path("release.toml"))
	d.must(err)
	forecast, err := Forecast(context.Background(), r, Options{})
	d.must(err)
	if notes := forecast.DrivenFar(); notes != nil {
		t.Errorf("before the first render: %q", notes)
	}
	out := d.render(Options{})
	clip := out.Ledger.Tracks[0].Stages[1].Ceiling
	if clip.Overs != 0 || clip.RemovedDB == nil || out.Ledger.Tracks[0].Stages[1].Audibility == nil ||
		len(clip.DeepestCuts) == 0 {
		t.Errorf("the ledger has no clip: %+v", clip)
	}
	forecast, err = Forecast(context.Background(), r, Options{})
	d.must(err)
	for what, notes := range map[string][]string{"render": out.DrivenFar(), "check": forecast.DrivenFar()} {
		if len(notes) != 1 || !strings.HasPrefix(notes[0], `stage "masked_clip": `) ||
			!strings.HasSuffix(notes[0], ` % of the samples of loud are over its ceiling; a masked_clip gains `+
				`little here, beyond 8 %`) {
			t.Errorf("%s: %q", what, notes)
		}
	}
}

// A mix of a rate at which the ear hears too little fails, with the stage's line and what to do; the others
// are rendered.
func TestMaskedClipOfALowRate(t *testing.T) {
	d := newDesk(t)
	for name, rate := range map[string]int{"a": 22050, "b": 44100} {
		d.mix("mixes/"+name+".wav", audiofile.Info{Rate: rate, Channels: 1, Frames: 3000,
			Encoding: audiofile.PCM16}, tone(1))
	}
	d.write("release.toml", maskedRelease)
	out, err := d.try(context.Background(), Options{})
	d.must(err)
	want := d.path("release.toml") + `:7: stage "masked_clip": masked_clip works from 32000 to 200000 Hz, and ` +
		`mixes/a.wav has 22050 Hz there; want another rate, or a stage of another kind`
	if out.Results[0].State != Failed || out.Results[1].State != Rendered {
		t.Fatalf("%v and %v", out.Results[0].State, out.Results[1].State)
	}
	if got := out.Results[0].Err.Error(); !strings.HasSuffix(got, want) {
		t.Errorf("(-want +got):\n%s", cmp.Diff(want, got))
	}
}

// The playback level decides what a masked clip does, so it makes a render stale even where nothing is
// measured; without such a stage it does not.
func TestMaskedClipIsOfItsLevel(t *testing.T) {
	for _, masked := range []bool{true, false} {
		d := newDesk(t)
		d.mix("mixes/a.wav", audiofile.Info{Rate: 44100, Channels: 1, Frames: 8000, Encoding: audiofile.PCM16},
			tone(1))
		text, want := maskedRelease, Rendered
		if !masked {
			text, want = strings.Replace(text, "masked_clip", "hard_clip", 1), Kept
		}
		d.write("release.toml", "audibility.measure = false\n"+text)
		d.render(Options{})
		before := d.read("masters/a.wav")
		d.edit("audibility.measure = false\n", "audibility.measure = false\naudibility.level_db_spl = 60\n")
		if got := d.render(Options{}).Results[0].State; got != want {
			t.Errorf("masked %v: %v, want %v", masked, got, want)
		}
		if same := d.read("masters/a.wav") == before; same == masked {
			t.Errorf("masked %v: the same bytes: %v", masked, same)
		}
	}
}
