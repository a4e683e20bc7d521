package ledger

import (
	"strings"
	"testing"
)

// Of many tracks the one whose hold was lowered most is named: it is the one to listen to. It need not be the
// one that came back with the highest peak.
func TestTheHoldThatWasLoweredMostIsNamed(t *testing.T) {
	track := func(name string, peak, ceiling float64) *Track {
		return &Track{Name: name, Delivery: "web", Coders: []Coded{{
			Coder: "lossy", TruePeakDBTP: &peak, Passed: true,
			Solved: &Solved{Stage: "hold", DeclaredDBFS: -1, CeilingDBFS: &ceiling},
		}}}
	}
	quay, lamp, tide := track("01 quay", -0.2, -1), track("02 lamp", -2.25, -10.5), track("03 tide", -0.1, -4)
	for end, tracks := range map[string][]*Track{
		"; hold lowered by 9.50 dB\n":                           {lamp},
		"; hold lowered by up to 9.50 dB, in 02 lamp\n":         {quay, lamp, tide},
		" in 01 quay, the highest of 2 tracks\n":                {quay, track("02 lamp", -0.3, -1)},
		"3 tracks; hold lowered by up to 3.00 dB, in 03 tide\n": {quay, track("02 lamp", -0.3, -2), tide},
	} {
		var b strings.Builder
		if err := (Printer{Out: &b}).Coders(tracks, false); err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(strings.Fields(b.String()), " ") + "\n"; !strings.HasSuffix(got, end) {
			t.Errorf("%q does not end with %q", got, end)
		}
	}
}
