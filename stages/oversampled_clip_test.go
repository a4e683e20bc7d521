package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

func oversampledClipAt(db float64, factor int64) stagetest.Maker {
	return mustBuild("oversampled_clip", stages.Settings{"ceiling_dbfs": db, "factor": factor})
}

var factors = []int64{2, 4, 8, 16}

const (
	// A clip works on a tile of 32 frames when it has eight more, and hands on the fifth before it.
	clipHoldBack = (1+8+5)*32 - 1
	// The way up to an excess reaches 105 frames, the residual of a corner 8
	// samples, and the way back 112 frames.
	clipReach = 105 + 8 + 112
)

func TestOversampledClipSuite(t *testing.T) {
	for _, factor := range factors {
		t.Run(fmt.Sprint("factor ", factor), func(t *testing.T) {
			stagetest.Suite(t, oversampledClipAt(-6, factor), stagetest.Options{
				HoldBack: clipHoldBack, Reach: clipReach, Ceiling: stages.Linear(-6), Books: true,
			})
		})
	}
}
