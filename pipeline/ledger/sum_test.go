package ledger

import (
	"reflect"
	"testing"
)

func TestSumSorts(t *testing.T) {
	var names []string
	for _, tr := range ferry().Tracks {
		names = append(names, tr.label())
	}
	want := []string{"01 lantern quay", "02 breakwater", "03 last boat", "03 last boat (plain)"}
	if !reflect.DeepEqual(names, want) {
		t.Errorf("order %q, want %q", names, want)
	}
}

func TestSumTotals(t *testing.T) {
	l := ferry()
	l.Tracks[0].Output.LimitedSamples = 3
	l.Tracks[3].Output.LimitedSamples = 4
	l.Tracks[1].Boundaries[0].NonFiniteSamples = 9
	l.Tracks[1].Boundaries[2].NonFiniteSamples = 5
	l.Sum()
	want := Totals{
		Tracks:             3,   // the two variants are one mix
		DurationS:          18,  // three mixes of six seconds
		Overs:              512, // the plain variant ends with its clip, the others hold what theirs left
		TrueOvers:          4,   // -0.98 dBTP where -1 is held, three times, and +0.10 after the plain clip
		LimitedSamples:     7,   // of all variants
		NonFiniteSamples:   9,   // the boundary with the most
		RequirementsFailed: 1,   // breakwater: -8.84 LUFS
	}
	if l.Totals != want {
		t.Errorf("totals %+v, want %+v", l.Totals, want)
	}
	again := l.Totals
	if l.Sum(); l.Totals != again {
		t.Errorf("summed twice: %+v", l.Totals)
	}
}
