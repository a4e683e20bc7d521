package survey

import (
	"testing"

	"ledgerline/pipeline/ledger"
)

// What reads alike in the table is told to be alike, and what disturbs nothing has no figure to be told.
func TestWhichChainDisturbsLess(t *testing.T) {
	chain := func(variant string, disturbed float64, noise *float64) Track {
		row := Row{
			Value: 3, Whole: &ledger.Whole{
				Audibility: &ledger.Audibility{DisturbedPercent: disturbed, NoiseToMaskDB: noise},
			},
		}
		return Track{Name: "01 quay", Variant: variant, Rows: []Row{row}, Solved: &Solved{Value: 3, Reached: true}}
	}
	at := func(x float64) *float64 { return &x }
	for want, tracks := range map[string][]Track{
		"  both come there without a disturbance\n": {chain("", 0, nil), chain("soft", 0, nil)},
		"  all come there without a disturbance\n": {
			chain("", 0, nil), chain("soft", 0, nil), chain("hard", 0, nil),
		},
		"  no chain comes there with less disturbance than the others: (own) 1.00 % disturbed, -9.00 dB to the " +
			"mask; soft 1.00 % disturbed, -9.00 dB to the mask\n": {
			chain("", 1.001, at(-9.001)), chain("soft", 1, at(-9.004))},
		"  soft comes there with less disturbance: (own) 0.00 % disturbed, -9.00 dB to the mask; soft 0.00 % " +
			"disturbed, no noise\n": {
			chain("", 0, at(-9)), chain("soft", 0, nil)},
		"  (own) comes there with less disturbance: (own) 0.10 % disturbed, -5.00 dB to the mask; soft 0.20 % " +
			"disturbed, -9.00 dB to the mask; hard 0.20 % disturbed, -9.00 dB to the mask\n": {
			chain("", 0.1, at(-5)), chain("soft", 0.2, at(-9)), chain("hard", 0.2, at(-9))},
		"  fewer than two chains come to the target, so none disturbs less there\n": {
			chain("", 0, nil), {Variant: "soft", Solved: &Solved{}},
		},
	} {
		if got := (&Survey{}).lessDisturbed(tracks); got != want {
			t.Errorf("got  %swant %s", got, want)
		}
	}
}
