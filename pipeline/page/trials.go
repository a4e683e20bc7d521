package page

import (
	"strings"

	"ledgerline/pipeline/trial"
)

// heard is what listening trials of a track said.
type heard struct {
	Trials []heardTrial
	Note   string // empty: every one found a difference
}

type heardTrial struct{ Text, Changed string } // Changed: which files are others now; empty: none

// heard is nil where there are none.
func (s *sheet) heard(t *track) *heard {
	var h heard
	for i := range s.trials {
		r := &s.trials[i]
		if r.Track != t.name {
			continue
		}
		line := heardTrial{Text: r.String()}
		line.Changed = strings.Join(r.Changed(s.ledger), ", ")
		h.Trials = append(h.Trials, line)
		if r.FoundNothing() {
			h.Note = trial.NotEqual
		}
	}
	if h.Trials == nil {
		return nil
	}
	return &h
}
