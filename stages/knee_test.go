package stages_test

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

func hardClipWith(db, knee float64, link bool) stagetest.Maker {
	return mustBuild("hard_clip", stages.Settings{"ceiling_dbfs": db, "knee_db": knee, "link": link})
}

func TestKneeSuite(t *testing.T) {
	for _, knee := range long.Or([]float64{3}, []float64{0.3, 3, 12}) {
		t.Run(fmt.Sprint("hard_clip, ", knee, " dB"), func(t *testing.T) {
			stagetest.Suite(t, hardClipWith(-6, knee, false), stagetest.Options{
				Ceiling: stages.Linear(-6), Holds: true, Books: true,
			})
		})
		for _, factor := range long.Or([]int64{8}, []int64{4, 8}) {
			t.Run(fmt.Sprint("oversampled_clip ", factor, ", ", knee, " dB"), func(t *testing.T) {
				stagetest.Suite(t, kneeClipAt(-6, knee, factor), stagetest.Options{
					HoldBack: clipHoldBack, Reach: clipReach, Ceiling: stages.Linear(-6), Books: true,
				})
			})
		}
	}
}

// Where a knee starts nothing changes yet, to the bit; from where it ends on what is left is the ceiling.
func TestHardClipKneeEnds(t *testing.T) {
	const knee = 6
	for _, db := range []float64{0, -1, -60} {
		c := stages.Linear(db)
		start := c * stages.Linear(-knee)
		end := c + (c - start)
		for _, x := range []struct{ in, want float64 }{
			{0, 0}, {start, start}, {start / 2, start / 2}, {end, c}, {2 * end, c}, {math.Inf(1), c},
			{math.MaxFloat64, c},
			{math.Nextafter(start, 0), math.Nextafter(start, 0)},
		} {
			for _, sign := range []float64{1, -1} {
				if got := oneChannel(hardClipWith(db, knee, false), sign*x.in)[0]; got != sign*x.want {
					t.Errorf("%v dBFS: %v became %v, want %v", db, sign*x.in, got, sign*x.want)
				}
			}
		}
		last := 0.0
		for x := 0.0; x < 2*c; x += c / 1000 {
			y := oneChannel(hardClipWith(db, knee, false), x)[0]
			if !(y >= last && y <= c && y <= x) {
				t.Fatalf("%v dBFS: %v became %v, the one before it %v", db, x, y, last)
			}
			if want := c * kneed(x/c, stages.Linear(-knee)); math.Abs(y-want) > 1e-15 {
				t.Fatalf("%v dBFS: %v became %v, want %v", db, x, y, want)
			}
			last = y
		}
	}
}

// What stays below the knee, between its samples too, passes to the bit.
func TestOversampledClipLeavesAloneWhatIsBelowTheKnee(t *testing.T) {
	long.Only(t, "TestKneeSuite and TestOversampledClipLeavesAloneWhatIsWithin leave alone what they may")
	for _, knee := range []float64{0.5, 6} {
		start := 0.5 * stages.Linear(-knee)
		for _, factor := range long.Or([]int64{4, 16}, factors) {
			for _, hz := range long.Or([]float64{20, 5512.5, 19999}, []float64{20, 997, 5512.5, 11025, 19999}) {
				in := faded(sine(hz, 0.4, start*(1-1e-4), long.Or(6000, 12000)))
				wantUntouched(t, fmt.Sprintf("knee %v, factor %d, %v Hz", knee, factor, hz), in,
					kneeClipAt(stages.DB(0.5), knee, factor))
			}
		}
	}
}
