package ledger

import "fmt"

// Failures prints in words what a table has no room for: requirements that
// failed, samples that were limited, and samples that are not finite. It prints
// nothing where there is none.
func (p Printer) Failures(tracks []*Track) error {
	g := page{Printer: p}
	for _, t := range tracks {
		g.failures(t)
	}
	return g.flush()
}

func (g *page) failures(t *Track) {
	label := clean(t.label())
	if n := t.Output.LimitedSamples; n > 0 {
		g.line(0, alarm, fmt.Sprintf("warning: %s: %s limited to full scale on writing", label, was(n)))
	}
	if text := t.nonFinite(); text != "" {
		g.line(0, alarm, fmt.Sprintf("warning: %s: %s", label, text))
	}
	for _, r := range t.Requirements {
		if !r.Passed {
			g.line(0, alarm, fmt.Sprintf("FAILED %s, %s: %s", label, clean(r.Stage), r))
		}
	}
}

// was is "1 sample was" or "2 samples were".
func was(n int64) string {
	if n == 1 {
		return "1 sample was"
	}
	return many(n, "sample") + " were"
}
