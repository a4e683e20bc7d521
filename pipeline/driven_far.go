package pipeline

import (
	"fmt"
	"slices"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
)

// DrivenFar are notes on stages that gain little because so many samples are over their ceiling, as the
// renders that are up to date tell: one note for each stage, on the render with the most.
func (o *Outcome) DrivenFar() (notes []string) {
	type far struct {
		stage, kind, render string
		percent             float64
		more                int
	}
	var all []*far
	at := map[string]*far{}
	if o.Ledger == nil && !slices.ContainsFunc(o.rows, func(r ledger.Row) bool { return r.Clipped != nil }) {
		return nil
	}
	rows := o.Judged().Rows
	for i := range rows {
		r := &rows[i]
		for _, s := range r.Clipped {
			if kind, _ := stages.KindNamed(s.Kind); kind.FarPercent == 0 || s.Percent <= kind.FarPercent {
				continue
			}
			f := at[s.Stage+"\n"+s.Kind]
			if f == nil {
				f = &far{stage: s.Stage, kind: s.Kind, more: -1}
				at[s.Stage+"\n"+s.Kind] = f
				all = append(all, f)
			}
			f.more++
			if s.Percent > f.percent {
				f.percent, f.render = s.Percent, ledger.Label(r.Name, r.Variant)
			}
		}
	}
	for _, f := range all {
		kind, _ := stages.KindNamed(f.kind)
		note := fmt.Sprintf("stage %q: %.1f %% of the samples of %s are over its ceiling", f.stage,
			f.percent, f.render)
		if f.more > 0 {
			note += fmt.Sprintf(", and too many of %d more", f.more)
		}
		notes = append(notes, note+fmt.Sprintf("; a %s gains little here, beyond %v %%", f.kind, kind.FarPercent))
	}
	return notes
}
