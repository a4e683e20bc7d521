package pipeline

import (
	"context"
	"errors"
	"io/fs"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
)

// The release file to start from renders as it is once there is a mix, meets
// its own requirements, and has nothing odd about it. So does what it shows in
// comments, with the signs taken away.
func TestTheStarterRendersAsItIs(t *testing.T) {
	inFolder(t)
	if err := Start("record"); err != nil {
		t.Fatal(err)
	}
	info := audiofile.Info{Rate: 44100, Channels: 2, Frames: 44100, Encoding: audiofile.PCM24}
	tune := func(c int, n int64) float64 {
		fade := min(1, float64(info.Frames-1-n)/1000)
		return fade * 0.95 * math.Sin(float64(n)*(0.05+0.03*float64(c)))
	}
	if err := mixtest.Write("record/mixes/01 first song.wav", info, tune); err != nil {
		t.Fatal(err)
	}
	render := func(want int) *Release {
		t.Helper()
		r, err := Load("record/release.toml")
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
		if n := out.Ledger.Totals.RequirementsFailed; len(out.Results) != want || out.Failed() > 0 || n > 0 || judged != 3*want {
			t.Errorf("%d results, %d failed; %d of %d requirements failed", len(out.Results), out.Failed(), n, judged)
		}
		return r
	}
	render(1)
	_, shown, _ := strings.Cut(string(starter), "\n# [track.")
	shown = strings.NewReplacer("\n# [", "\n[", "\n# drive.", "\ndrive.").Replace("\n# [track." + shown)
	write(t, "record/release.toml", string(starter)+shown)
	r := render(2)
	if got := settingOf(t, r, "01 first song", "hotter", "drive", "gain_db"); got != 6.0 {
		t.Errorf("the variant drives by %v, want 4.5 + 1.5", got)
	}
}

func TestAStartLeavesWhatIsThere(t *testing.T) {
	inFolder(t)
	write(t, "release.toml", "# mine")
	if err := Start("."); !errors.Is(err, fs.ErrExist) {
		t.Errorf("%v, want that there is one", err)
	}
	if text, _ := os.ReadFile("release.toml"); string(text) != "# mine" {
		t.Errorf("it is now %q", text)
	}
	if _, err := os.Stat("mixes"); err == nil {
		t.Error("mixes was made nonetheless")
	}
	write(t, "taken/mixes", "a file")
	if err := Start("taken"); err == nil {
		t.Error("no error where mixes is a file")
	}
	if _, err := os.Stat("taken/release.toml"); err == nil {
		t.Error("half of a start was left")
	}
}
