package pipeline

import (
	"context"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// The release file to start from renders as it is once there is a mix, meets
// its own requirements, and has nothing odd about it. So does what it shows in
// comments, with the signs taken away.
func TestTheStarterRendersAsItIs(t *testing.T) {
	long.Only(t, "a script of the command new renders it")
	d := newDesk(t)
	t.Chdir(d.folder)
	if err := release.Start("record"); err != nil {
		t.Fatal(err)
	}
	starter, err := os.ReadFile("record/release.toml")
	if err != nil {
		t.Fatal(err)
	}
	frames := long.Or[int64](4000, 44100)
	info := audiofile.Info{Rate: long.Or(8000, 44100), Channels: 2, Frames: frames, Encoding: audiofile.PCM24}
	tune := func(c int, n int64) float64 {
		fade := min(1, float64(info.Frames-1-n)/1000)
		return fade * 0.95 * math.Sin(float64(n)*(0.05+0.03*float64(c)))
	}
	if err := mixtest.Write("record/mixes/01 first song.wav", info, tune); err != nil {
		t.Fatal(err)
	}
	render := func(want int) *release.Release {
		t.Helper()
		r, err := release.Load("record/release.toml")
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Notes) > 0 {
			t.Errorf("notes: %q", r.Notes)
		}
		out, err := RenderRelease(context.Background(), r, Options{})
		if err != nil {
			t.Fatal(err)
		}
		judged := 0
		for _, track := range out.Ledger.Tracks {
			judged += len(track.Requirements)
		}
		if n := out.Ledger.Totals.RequirementsFailed; len(out.Results) != want || out.Failed() > 0 || n > 0 ||
			judged != 3*want {
			t.Errorf("%d results, %d failed; %d of %d requirements failed", len(out.Results), out.Failed(), n, judged)
		}
		return r
	}
	render(1)
	_, shown, _ := strings.Cut(string(starter), "\n# [track.")
	shown = strings.NewReplacer("\n# [", "\n[", "\n# drive.", "\ndrive.").Replace("\n# [track." + shown)
	d.write("record/release.toml", string(starter)+shown)
	for _, r := range render(2).Renders {
		if got := r.Chain[0].Settings["gain_db"]; r.Variant == "hotter" && got != 6.0 {
			t.Errorf("the variant drives by %v, want 4.5 + 1.5", got)
		}
	}
}
