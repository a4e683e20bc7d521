package ledger

import (
	"strings"

	"ledgerline/stages"
)

// A shortReading is the true peak at a chain's end as one of the short filters reads it.
type shortReading struct {
	meter  string // as read_by names it
	figure string // the ledger's
	key    string // of the requirement
	of     func(*Whole) *float64
}

var shortReadings = []shortReading{
	{stages.ReadBS1770, "true_peak_bs1770_dbtp", "true_peak_bs1770_max_dbtp", func(w *Whole) *float64 {
		return w.TruePeakBS1770DBTP
	}},
	{stages.ReadSinc49, "true_peak_sinc49_dbtp", "true_peak_sinc49_max_dbtp", func(w *Whole) *float64 {
		return w.TruePeakSinc49DBTP
	}},
}

// asksFor says whether a chain names the meter, to be held by or to require something of. Every
// ledger has the readings, but only those that were asked for are printed.
func (t *Track) asksFor(r shortReading) bool {
	for _, use := range t.Chain {
		if _, required := use.Settings[r.key]; required || use.Settings.ReadBy().Has(r.meter) {
			return true
		}
	}
	return false
}

// short is what a meter read; nil: silence, not asked for, or not in the record.
func (t *Track) short(r shortReading) *float64 {
	if t.Whole == nil || !t.asksFor(r) {
		return nil
	}
	return r.of(t.Whole)
}

// readings says what the meters that were asked for read, and by how much the aim was lowered
// so that it keeps the ceiling; "" where there is nothing to say.
func (t *Track) readings() (string, tone) {
	var parts []string
	for _, r := range shortReadings {
		if x := t.short(r); x != nil {
			parts = append(parts, "by "+r.meter+" "+fixed(*x)+" dBTP")
		}
	}
	lowered, end, tone := t.aimLowered()
	switch read := "read " + strings.Join(parts, ", "); {
	case len(parts) == 0 && lowered == "":
		return "", plain
	case len(parts) == 0 && end == "":
		return "rendered again with the hold's " + lowered + ", so that the readings after it keep the ceiling",
			plain
	case len(parts) == 0:
		return "rendered again with the hold's " + lowered + end, tone
	case lowered == "":
		return read, plain
	default:
		return read + "; " + lowered + end, tone
	}
}
