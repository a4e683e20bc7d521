package pipeline

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

func TestRenderGoesDownTheChain(t *testing.T) {
	d := ferryDesk(t)
	out := d.render(Options{Jobs: 2})
	if got := states(out); got != "01 quay rendered, 02 breakwater rendered, 03 lantern rendered" {
		t.Errorf("states: %s", got)
	}
	in, got := d.samples("mixes/02 breakwater.wav"), d.samples("masters/02 breakwater.wav")
	gain, ceiling, step := stages.Linear(4), stages.Linear(-1), 1.0/(1<<23)
	for c := range in {
		for i, x := range in[c] {
			want := min(max(x*gain, -ceiling), ceiling)
			if math.Abs(got[c][i]-want) > step/2 {
				t.Fatalf("channel %d frame %d: %v, want %v within half a step of 24 bits", c, i, got[c][i], want)
			}
		}
	}
	if out.Failed() != 0 || out.Judged().Totals.RequirementsFailed != 0 {
		t.Errorf("%d failed, %d requirements not met", out.Failed(), out.Judged().Totals.RequirementsFailed)
	}
}

// The whole product rests on this: nothing about how the work is cut up may
// show in what comes out.
func TestRenderIsTheSameForAnyBlockLengthAndJobs(t *testing.T) {
	text := strings.Replace(drawnChain, `encoding = "pcm24"`, `encoding = "pcm16"
removed = true
match_loudness = true`, 1) + `
[[stage]]
kind = "dither"
bits = 16

[variant.quiet]
drive.gain_db = -2.0
`
	var want map[string]string
	cuts := []struct{ block, jobs int }{
		{4096, 1}, {7, 3}, {4096, 7}, {1 << 16, 2}, {4096, 2}, {1, 1}, {4095, 2}, {4097, 1},
	}
	for _, c := range long.Or(cuts[:2], cuts) {
		d := ferryDesk(t)
		d.write("release.toml", text)
		d.block = c.block
		d.render(Options{Jobs: c.jobs})
		got := d.tree("masters")
		if want == nil {
			want = got
			if len(want) != 3*6+3 {
				t.Fatalf("%d files: want master, removed and matched of three tracks in two variants, the ledger, the "+
					"record along them and the page", len(want))
			}
		}
		sameTree(t, fmt.Sprintf("blocks of %d, %d jobs", c.block, c.jobs), got, want)
	}
}

func TestRenderOfAMixWithoutFrames(t *testing.T) {
	d := newDesk(t)
	d.write("release.toml", quickChain)
	d.mix("mixes/silence.wav", stereo(0), tone(1))
	d.render(Options{})
	if n := d.samples("masters/silence.wav").Frames(); n != 0 {
		t.Errorf("%d frames", n)
	}
}

func TestRenderWithoutStages(t *testing.T) {
	d := newDesk(t)
	d.mix("mixes/a.wav", audiofile.Info{Rate: 48000, Channels: 1, Frames: 9000, Encoding: audiofile.Float32},
		tone(1))
	r := &release.Release{
		Title:  "copy",
		Output: release.Output{Folder: d.path("masters"), Encoding: audiofile.Float64},
		Renders: []release.Render{{
			Track: "a", Source: d.path("mixes/a.wav"), SourceAsWritten: "mixes/a.wav", Output: d.path("masters/a.wav"),
			Encoding: audiofile.Float64,
		}},
	}
	out, err := RenderRelease(context.Background(), r, Options{})
	d.must(err)
	if out.Failed() > 0 {
		t.Fatal(out.Results[0].Err)
	}
	in, got := d.samples("mixes/a.wav"), d.samples("masters/a.wav")
	for i := range in[0] {
		if in[0][i] != got[0][i] {
			t.Fatalf("frame %d: %v became %v", i, in[0][i], got[0][i])
		}
	}
}

func TestRequirementThatFails(t *testing.T) {
	d := ferryDesk(t)
	d.edit("sample_peak_max_dbfs = -1.0", "sample_peak_max_dbfs = -1.5")
	for _, what := range []string{"rendered", "kept"} {
		out := d.render(Options{})
		if got := out.Judged().Totals.RequirementsFailed; got != 3 {
			t.Errorf("%s: %d requirements not met, want one a track", what, got)
		}
		if out.Failed() != 0 || !strings.Contains(states(out), what) {
			t.Errorf("%s: %s", what, states(out))
		}
	}
	// Only what was chosen counts.
	if out := d.render(Options{Tracks: []string{"01 quay"}}); out.Judged().Totals.RequirementsFailed != 1 {
		t.Errorf("%d requirements of one track not met", out.Judged().Totals.RequirementsFailed)
	}
}

func TestOversAreCountedAgainstTheCeilingInForce(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", strings.Replace(quickChain, `[[stage]]
kind                 = "measure"`, `[[stage]]
kind    = "gain"
name    = "lift"
gain_db = 0.5

[[stage]]
kind                 = "measure"
overs_max = 0`, 1))
	out := d.render(Options{})
	for _, track := range out.Ledger.Tracks {
		clip, delivery := track.Stages[1].Ceiling, track.Stages[3].Ceiling
		if track.Stages[0].Ceiling != nil || track.Stages[2].Ceiling != nil {
			t.Errorf("%s: a gain has no ceiling", track.Name)
		}
		if clip == nil || clip.Overs != 0 || clip.TouchedSamples == 0 {
			t.Errorf("%s: the clip holds its ceiling and touches samples, not %+v", track.Name, clip)
		}
		// What was clipped to -1 dBFS is 0.5 dB beyond it after the lift.
		if delivery == nil || delivery.Overs < clip.TouchedSamples || delivery.LargestOverDB != 0.5 ||
			delivery.CeilingDBFS != -1 {
			t.Errorf("%s: at the measure %+v, want at least the %d clipped samples 0.5 dB over", track.Name, delivery,
				clip.TouchedSamples)
		}
	}
	if out.Judged().Totals.RequirementsFailed != 6 {
		t.Errorf("%d requirements not met, want overs and peak of three tracks",
			out.Judged().Totals.RequirementsFailed)
	}
}

func TestChoiceOfTracksAndVariants(t *testing.T) {
	long.Only(t, "the program's script of tracks and variants chooses")
	d := ferryDesk(t)
	d.write("release.toml", quickChain+"\n[variant.plain]\nskip = [\"clip\"]\n")
	for _, c := range []struct {
		o    Options
		want string
	}{
		{Options{Tracks: []string{"02 breakwater"}, Variants: []string{"plain"}}, "02 breakwater/plain rendered"},
		{Options{Tracks: []string{"02 breakwater"}}, "02 breakwater rendered, 02 breakwater/plain kept"},
		{Options{Variants: []string{""}}, "01 quay rendered, 02 breakwater kept, 03 lantern rendered"},
		{
			Options{}, "01 quay kept, 01 quay/plain rendered, 02 breakwater kept, 02 breakwater/plain kept, 03 " +
				"lantern kept, 03 lantern/plain rendered",
		},
	} {
		if got := states(d.render(c.o)); got != c.want {
			t.Errorf("%q %q: %s\nwant %s", c.o.Tracks, c.o.Variants, got, c.want)
		}
	}
	for _, o := range []Options{{Tracks: []string{"02 brakewater"}}, {Variants: []string{"plian"}}} {
		_, err := d.try(context.Background(), o)
		var choice *ChoiceError
		if !errors.As(err, &choice) || choice.Nearest == "" || !strings.Contains(err.Error(), "did you mean") {
			t.Errorf("%+v: %v, want the nearest name", o, err)
		}
	}
}

func TestRenderIsRefusedWhileAnotherRuns(t *testing.T) {
	d := ferryDesk(t)
	d.must(os.MkdirAll(d.path("masters"), 0o777))
	otherHolder(t, d.path("masters"))
	_, err := d.try(context.Background(), Options{})
	var held *HeldError
	if !errors.As(err, &held) {
		t.Fatalf("got %v, want that another process holds the folder", err)
	}
	if files := d.tree("masters"); len(files) != 1 {
		t.Errorf("%d files in the folder, want the lock alone", len(files))
	}
}
