package stages_test

import (
	"math"
	"testing"

	"ledgerline/stages"
)

// What a kind says of itself is true of what its stage does.
func TestKindsDoWhatTheySay(t *testing.T) {
	settings := map[string]stages.Settings{
		"gain":             {"gain_db": -3.7},
		"hard_clip":        {"ceiling_dbfs": -6.0},
		"oversampled_clip": {"ceiling_dbfs": -6.0},
		"masked_clip":      {"ceiling_dbfs": -40.0},
		"ceiling_hold":     {"ceiling_dbfs": -6.0},
		"resample":         {"rate_hz": int64(48000)},
		"dither":           {"bits": int64(12)},
		"measure":          {},
	}
	in := stages.NewBlock(2, 6000)
	for c := range in {
		for i := range in[c] {
			in[c][i] = 0.9 * math.Sin(float64(i)*(0.05+0.02*float64(c)))
		}
	}
	for _, kind := range stages.Kinds() {
		s, ok := settings[kind.Name]
		if !ok {
			t.Errorf("%s: the test has no settings for it", kind.Name)
			continue
		}
		kind.Fill(s)
		use := stages.Use{Name: kind.Name, Kind: kind.Name, Settings: s}
		stage, err := stages.Build(kind.Name, stages.Format{Rate: 44100, Channels: 2}, s)
		if err != nil {
			t.Fatal(err)
		}
		out := stage.Flush(stage.Process(stages.NewBlock(2, 0), in))
		if want := int(stages.FramesAt(6000, 44100, use.RateAfter(44100))); out.Frames() != want {
			t.Errorf("%s: %d frames out, want %d", kind.Name, out.Frames(), want)
		}
		factor, multiplies := use.Factor()
		rounding, rounds := use.Rounding()
		ceiling, _ := s.Ceiling()
		differ, over, farthest, offCode := false, false, 0.0, false
		for c := range in {
			for i, x := range in[c] {
				y := out[c][i]
				differ = differ || y != x*factor.By
				over = over || math.Abs(y) > ceiling
				farthest = max(farthest, math.Abs(y-x))
				code := math.Ldexp(y, rounding.Bits-1)
				offCode = offCode || code != math.Trunc(code)
			}
		}
		if (kind.Reads || multiplies) && differ {
			t.Errorf("%s: it does something else than multiply by %v", kind.Name, factor.By)
		}
		if effect := stage.Effect(); (effect.Removed > 0) != kind.Cuts {
			t.Errorf("%s: cuts %v, but the effect is %+v", kind.Name, kind.Cuts, effect)
		}
		if kind.Cuts && over != kind.MayPass {
			t.Errorf("%s: may pass its ceiling: %v, and it does: %v", kind.Name, kind.MayPass, over)
		}
		if rounds && (offCode || farthest > rounding.Rise.Sample) {
			t.Errorf("%s: words of %d bits: %v; the largest error is %v, said to be %v", kind.Name, rounding.Bits,
				!offCode, farthest, rounding.Rise.Sample)
		}
	}
}
