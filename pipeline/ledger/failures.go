package ledger

import (
	"fmt"
	"slices"
)

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
	for _, text := range t.FailedRequirements() {
		g.line(0, alarm, "FAILED "+text)
	}
}

// FailedRequirements says of each requirement that failed what was found, in words after
// the track and the stage: "quay, delivery: true peak -0.9997 dBTP, limit -1.0000".
func (t *Track) FailedRequirements() []string { return failedTexts(t.label(), t.failed()) }

func failedTexts(label string, failed []Requirement) []string {
	var texts []string
	for _, r := range failed {
		texts = append(texts, fmt.Sprintf("%s, %s: %s", clean(label), clean(r.Stage), r))
	}
	return texts
}

// failed are the requirements that failed.
func (t *Track) failed() []Requirement {
	return slices.DeleteFunc(t.Required(), func(r Requirement) bool { return r.Passed })
}

// was is "1 sample was" or "2 samples were".
func was(n int64) string {
	if n == 1 {
		return "1 sample was"
	}
	return many(n, "sample") + " were"
}
