package page

import "fmt"

// coded has what came back of a track's deliveries from their coders; nil: nothing was checked.
func (t *track) coded() *table {
	all := &table{Caption: "Deliveries of " + t.name + " through a coder", Hidden: true, Stack: true,
		Heads: []head{
			{"delivery", "", true}, {"coder", "", true}, {"sample peak", "dBFS", false}, {"true peak", "dBTP", false},
			{"growth", "dB", false},
			{"at", "", true}, {"hold", "", true}, {"limit", "dBTP", false}, {"met", "", true},
		}}
	for _, r := range t.deliveries {
		for i := range r.Coders {
			c := &r.Coders[i]
			at, hold, limit, met := "silence", "as declared", "none", ""
			if c.TruePeakTimeS != nil {
				at = fmt.Sprintf("%.3f s, channel %d", *c.TruePeakTimeS, c.TruePeakChannel)
			}
			if c.Solved != nil {
				hold = c.Solved.String()
			}
			if c.WantedDBTP != nil {
				limit, met = figure(c.WantedDBTP, 2), "✓ met"
			}
			if !c.Passed {
				limit, met = figure(c.WantedDBTP, apart(value(c.TruePeakDBTP), *c.WantedDBTP)), "✗ FAILED"
			}
			row := all.add(r.chain, c.Coder, figure(c.SamplePeakDBFS, 2), figure(c.TruePeakDBTP, 2),
				signed(value(c.TrueGrowthDB), 2), at, hold, limit, met)
			row.Cells[8].Bad = !c.Passed
		}
	}
	if len(all.Rows) == 0 {
		return nil
	}
	return all
}
