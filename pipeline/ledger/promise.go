package ledger

import (
	"fmt"
	"strconv"

	"ledgerline/stages"
)

// aimLowered says by how much the hold's aim was lowered, "" where it was not, and how far
// that was from enough, "" where it was.
func (t *Track) aimLowered() (lowered, missing string, _ tone) {
	if t.Whole == nil || t.Whole.AimLoweredDB <= 0 {
		return "", "", plain
	}
	lowered = fmt.Sprintf("aim lowered by %s dB", strconv.FormatFloat(t.Whole.AimLoweredDB, 'f', -1, 64))
	if peak, overDB := t.missed(); overDB > 0 {
		return lowered, fmt.Sprintf(", which is not enough: the %s is still %s dB over", peak, exact(overDB)), alarm
	}
	return lowered, "", plain
}

// missed is which peak passes the ceiling of a hold after it, as far as the hold's promise
// reaches, and how far the furthest is over it in dB; 0: every hold kept its promise.
func (t *Track) missed() (peak string, overDB float64) {
	for k, use := range t.Chain {
		if k >= len(t.Stages) || t.Stages[k].Ceiling == nil || use.Promise() == stages.NoPromise {
			continue
		}
		add := func(name string, db *float64) {
			if over := minus(db, &t.Stages[k].Ceiling.CeilingDBFS); over != nil && *over > overDB {
				peak, overDB = name, *over
			}
		}
		end := t.promiseEnd(k)
		for _, b := range t.Boundaries[k+1 : max(k+1, end+1)] {
			if use.Promise() == stages.TruePeaks {
				add("true peak", b.TruePeakDBTP)
			} else {
				add("sample peak", b.SamplePeakDBFS)
			}
		}
		for _, r := range shortReadings {
			if t.Whole != nil && end == len(t.Boundaries)-1 && use.Settings.ReadBy().Has(r.meter) {
				add("peak by "+r.meter, r.of(t.Whole))
			}
		}
	}
	return peak, overDB
}

// promiseEnd is the last boundary that the promise of the hold at place k in the chain is for:
// after it comes the end, or a stage that may raise peaks on purpose.
func (t *Track) promiseEnd(k int) int {
	for i := k + 1; i < len(t.Chain) && i+1 < len(t.Boundaries); i++ {
		if t.Chain[i].RaisesPeaks() {
			return i
		}
	}
	return min(len(t.Chain), len(t.Boundaries)-1)
}
