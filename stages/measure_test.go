package stages_test

import (
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/stagetest"
)

func TestMeasureSuite(t *testing.T) {
	for _, s := range []stages.Settings{
		{},
		{"sample_peak_max_dbfs": -60.0, "overs_max": int64(0)}, // even requirements that fail
	} {
		stagetest.Suite(t, mustBuild("measure", s), stagetest.Options{Books: true})
	}
}

func BenchmarkMeasure(b *testing.B) {
	stagetest.Bench(b, mustBuild("measure", stages.Settings{}), ramps(2))
}
