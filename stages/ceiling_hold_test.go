package stages_test

import (
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
	"ledgerline/stages/stagetest/long"
)

func ceilingHoldAt(db float64, peak, method string) stagetest.Maker {
	return mustBuild("ceiling_hold", stages.Settings{"ceiling_dbfs": db, "peak": peak, "method": method})
}

const (
	// A hold works on a tile of 64 frames when it has eight more, and hands on the 45th before
	// it: six for the clip of broad runs, three for what a pass looks at, and three for
	// each of twelve passes.
	holdHoldBack = (1+8+45)*64 - 1
	// The whole band is worked at in hops of 8192 frames, three of which are there, and half a hop and four
	// tiles of another, when one is handed on.
	wholeHoldBack = holdHoldBack + 8192*7/2 + 4*64
	wholeReach    = 3 * 8192
)

// The method plain is a hard clip whatever peak says.
func TestCeilingHoldSuite(t *testing.T) {
	for _, c := range []struct {
		peak, method    string
		holdBack, reach int
	}{
		{"true", "band_limited", wholeHoldBack, wholeReach},
		{"sample", "band_limited", wholeHoldBack, wholeReach},
		{"true", "plain", 0, 0},
		{"sample", "plain", 0, 0},
	} {
		if c.peak == "sample" && !long.Wanted() { // TestCeilingHoldOfSamples* look at these
			continue
		}
		t.Run(c.peak+" "+c.method, func(t *testing.T) {
			stagetest.Suite(t, ceilingHoldAt(-6, c.peak, c.method), stagetest.Options{
				HoldBack: c.holdBack, Reach: c.reach, Ceiling: stages.Linear(-6), Holds: true, Books: true,
			})
		})
	}
}
