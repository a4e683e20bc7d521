package ledger

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/stages"
)

// Numbers are compared by value, whichever type they were read as, and a setting that
// one side lacks is a change.
func TestSettingChanges(t *testing.T) {
	old := stages.Settings{
		"factor": int64(8), "method": "sinc", "seed": int64(1 << 21), "ceiling_dbfs": -1.0, "gone": 1.0,
	}
	new := stages.Settings{
		"factor": 8.0, "method": "fast", "seed": float64(1 << 21), "ceiling_dbfs": -2.0, "added": "x",
	}
	want := []SettingChange{
		{"added", nil, "x"}, {"ceiling_dbfs", -1.0, -2.0}, {"gone", 1.0, nil}, {"method", "sinc", "fast"},
	}
	if diff := cmp.Diff(want, SettingChanges(old, new)); diff != "" {
		t.Error(diff)
	}
	if got := SettingChanges(nil, nil); got != nil {
		t.Errorf("no settings at all differ in %v", got)
	}
	if got := SettingChanges(nil, stages.Settings{"a": 1.0}); len(got) != 1 {
		t.Errorf("a first setting: %v", got)
	}
}
