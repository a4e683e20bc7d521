package track

import (
	"math"
	"testing"

	"ledgerline/stages"
)

// A stage for each channel does what one stage for all of them would do.
func TestStagesApartAreTheStageWhole(t *testing.T) {
	for _, k := range stages.Kinds() {
		kind := k.Name
		if !k.Apart {
			continue
		}
		use := stages.Use{
			Name: kind, Kind: kind, Settings: stages.Settings{"ceiling_dbfs": -3.0, "rate_hz": int64(48000)},
		}
		k.Fill(use.Settings)
		f := stages.Format{Rate: 44100, Channels: 3, Seed: 1}
		whole, err := stages.Build(kind, f, use.Settings)
		if err != nil {
			t.Fatal(err)
		}
		parts, err := newLink(use, f)
		if err != nil {
			t.Fatal(err)
		}
		if len(parts.stages) != 3 {
			t.Fatalf("%s: %d stages for 3 channels", kind, len(parts.stages))
		}
		in := stages.NewBlock(3, 5000)
		for c := range in {
			for i := range in[c] {
				in[c][i] = 0.9 * math.Sin(float64(i)*0.03*float64(c+1))
			}
		}
		want := whole.Flush(whole.Process(stages.NewBlock(3, 0), in))
		for c, s := range parts.stages {
			got := s.Flush(s.Process(stages.NewBlock(1, 0), in[c:c+1]))
			for i, x := range got[0] {
				if x != want[c][i] {
					t.Fatalf("%s: channel %d frame %d: %v apart, %v whole", kind, c, i, x, want[c][i])
				}
			}
		}
		if got, want := parts.effect(), whole.Effect(); got != want || k.Cuts && got.Touched == 0 {
			t.Errorf("%s: effect %+v apart, %+v whole", kind, got, want)
		}
	}
}

// Channels that are linked know of each other and stay in one stage.
func TestLinkedChannelsAreOneStage(t *testing.T) {
	for _, kind := range stages.Kinds() {
		if _, ok := kind.Key("link"); !ok {
			continue
		}
		use := stages.Use{Name: "a", Kind: kind.Name, Settings: stages.Settings{"ceiling_dbfs": -3.0, "link": true}}
		kind.Fill(use.Settings)
		l, err := newLink(use, stages.Format{Rate: 44100, Channels: 3})
		if err != nil || len(l.stages) != 1 {
			t.Errorf("%s: %d stages, error %v", kind.Name, len(l.stages), err)
		}
	}
}
