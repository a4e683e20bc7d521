package track

import (
	"testing"

	"ledgerline/stages"
)

// The meters of what a promise or the release's limits are judged by read the whole band, and so do those
// that they follow.
func TestJudgedBoundaries(t *testing.T) {
	chain := func(kinds ...string) (c []stages.Use) {
		for _, name := range kinds {
			k, ok := stages.KindNamed(name)
			if !ok {
				t.Fatal(name)
			}
			s := stages.Settings{"gain_db": 1.0, "ceiling_dbfs": -1.0, "bits": int64(24)}
			k.Fill(s)
			c = append(c, stages.Use{Name: name, Kind: name, Settings: s})
		}
		return c
	}
	for _, tt := range []struct {
		chain []stages.Use
		want  []bool
	}{
		{chain(), []bool{true}},
		{
			chain("gain", "oversampled_clip", "ceiling_hold", "dither", "measure"),
			[]bool{false, false, false, true, true, true},
		},
		{chain("gain", "hard_clip", "gain"), []bool{false, false, true, true}},
		{chain("hard_clip", "measure", "gain", "measure", "dither"), []bool{false, true, true, true, true, true}},
		{chain("ceiling_hold", "hard_clip"), []bool{false, true, true}},
	} {
		p := &Pass{chain: tt.chain}
		for k, want := range tt.want {
			if got := p.judged(k); got != want {
				t.Errorf("%d stages, boundary %d: %v", len(tt.chain), k, got)
			}
		}
	}
}
