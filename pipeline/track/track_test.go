package track

import (
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// nowhere is a sink that keeps nothing.
type nowhere struct{ Sink }

func (nowhere) Write(stages.Block) error { return nil }

// Batches are memory that is used again: a track ten times as long allocates no
// more.
func TestBatchesAllocateNothing(t *testing.T) {
	short, long := allocations(t, 1000, false), allocations(t, 100000, false)
	if long > short+2 {
		t.Errorf("%v allocations for 10 batches, %v for 1000", short, long)
	}
}

// Listeners keep more of the worst moments in a longer track, up to a number, and nothing of each batch.
func TestListenersAllocateNothingABatch(t *testing.T) {
	batches, more := long.Or(100, 300), long.Or(200, 1000)
	few, many := allocations(t, 100*batches, true), allocations(t, 100*(batches+more), true)
	if many > few+100 {
		t.Errorf("%v allocations for %d batches, %v for %d more", few, batches, many, more)
	}
}

// allocations are those of a track of so many frames, in batches of 100.
func allocations(t *testing.T, frames int, hear bool) float64 {
	chain := []stages.Use{
		{Name: "gain", Kind: "gain", Settings: stages.Settings{"gain_db": 3.0}},
		{Name: "clip", Kind: "hard_clip", Settings: stages.Settings{"ceiling_dbfs": -1.0}},
	}
	samples := stages.Block{ramp(frames), ramp(frames)}
	space := &workspace{}
	tokens := oneToken()
	return testing.AllocsPerRun(long.Or(2, 3), func() {
		from := &Input{AudioFile: &scripted{b: samples}}
		p, err := New(from, chain, Options{Frames: 100})
		if err != nil {
			t.Fatal(err)
		}
		p.info.Rate = 44100
		if hear {
			if err := p.Hear(Hearing{LevelDBSPL: 92, Aliasing: true}); err != nil || len(p.listeners) != 2 {
				t.Fatal(err, p.listeners)
			}
		}
		p.To, p.Removed = nowhere{}, NewRemoved(chain, 2, nowhere{})
		if err := p.lanes(space.fit(2, 3, 2), tokens).run(t.Context()); err != nil {
			t.Fatal(err)
		}
	})
}
