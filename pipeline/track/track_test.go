package track

import (
	"testing"

	"ledgerline/stages"
)

// nowhere is a sink that keeps nothing.
type nowhere struct{ Sink }

func (nowhere) Write(stages.Block) error { return nil }

// Batches are memory that is used again: a track ten times as long allocates no
// more.
func TestBatchesAllocateNothing(t *testing.T) {
	chain := []stages.Use{
		{Name: "gain", Kind: "gain", Settings: stages.Settings{"gain_db": 3.0}},
		{Name: "clip", Kind: "hard_clip", Settings: stages.Settings{"ceiling_dbfs": -1.0}},
	}
	allocations := func(frames int) float64 {
		samples := stages.Block{ramp(frames), ramp(frames)}
		space := &workspace{}
		tokens := oneToken()
		return testing.AllocsPerRun(3, func() {
			from := &Input{Source: &scripted{b: samples}}
			p, err := New(from, chain, Options{Frames: 100})
			if err != nil {
				t.Fatal(err)
			}
			p.info.Rate = 44100
			if err := p.Hear(Hearing{LevelDBSPL: 92, Aliasing: true}); err != nil || len(p.listeners) != 2 {
				t.Fatal(err, p.listeners)
			}
			p.To, p.Removed = nowhere{}, NewRemoved(chain, 2, nowhere{})
			if err := p.lanes(space.fit(2, 3, 2), tokens).run(t.Context()); err != nil {
				t.Fatal(err)
			}
		})
	}
	if short, long := allocations(50000), allocations(500000); long > short+2 {
		t.Errorf("%v allocations for 500 batches, %v for 5000", short, long)
	}
}
