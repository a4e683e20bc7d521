package track

import (
	"testing"

	"ledgerline/stages"
)

// ceilingAt goes back to the last stage that has a ceiling, else to the release's.
func TestCeilingAt(t *testing.T) {
	with := func(db float64) stages.Use { return stages.Use{Settings: map[string]any{"ceiling_dbfs": db}} }
	without := stages.Use{Settings: map[string]any{}}
	chain := []stages.Use{without, with(-3), without, with(-0.5), without}
	for k, want := range []float64{-1, -1, -3, -3, -0.5, -0.5} {
		if got := ceilingAt(k, chain, -1); got != want {
			t.Errorf("at boundary %d: %v dBFS, want %v", k, got, want)
		}
	}
}
