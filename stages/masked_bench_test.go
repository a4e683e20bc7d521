package stages_test

import (
	"fmt"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

// What it costs depends on how much is over.
func BenchmarkMaskedClip(b *testing.B) {
	for _, share := range []float64{0, 0.02, 0.08, 0.15} {
		b.Run(fmt.Sprintf("%v%% over", 100*share), func(b *testing.B) {
			stagetest.Bench(b, maskedClipAt(0), stages.Block{overs(b, share)})
		})
	}
}
