package pipeline

import "testing"

// Overs count against the ceiling in force where they are counted: the release's before the
// clip, the clip's own from there on.
func TestOversWhereAStageHasAnotherCeilingThanTheRelease(t *testing.T) {
	d := ferryDesk(t)
	d.write("release.toml", `
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0
[output]
folder = "masters"
[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 4.0
[[stage]]
kind         = "hard_clip"
name         = "clip"
ceiling_dbfs = -3.0
[[stage]]
kind    = "gain"
name    = "lift"
gain_db = 1.0
[[stage]]
kind      = "measure"
name      = "delivery"
overs_max = 0
`)
	for _, track := range d.render(Options{Tracks: []string{"02 breakwater"}}).Ledger.Tracks {
		clip, delivery := track.Stages[1].Ceiling, track.Stages[3].Ceiling
		if clip == nil || clip.CeilingDBFS != -3 || clip.Overs != 0 || clip.TouchedSamples == 0 {
			t.Fatalf("the clip holds its own ceiling, not %+v", clip)
		}
		// After the lift what was clipped is at -2 dBFS: over the clip's ceiling, within the release's.
		if delivery == nil || delivery.CeilingDBFS != -3 || delivery.Overs < clip.TouchedSamples ||
			delivery.LargestOverDB != 1 {
			t.Errorf("at the measure %+v, want at least the %d clipped samples 1 dB over -3 dBFS", delivery,
				clip.TouchedSamples)
		}
		if r := track.Requirements[0]; r.Passed || *r.Found != float64(delivery.Overs) {
			t.Errorf("the requirement found %v overs, passed: %v", *r.Found, r.Passed)
		}
	}
}
