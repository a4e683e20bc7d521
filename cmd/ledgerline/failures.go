package main

import (
	"errors"
	"slices"
	"strings"

	"ledgerline/pipeline"
)

// reason is why a render failed, without the name that its error begins with.
func reason(r *pipeline.Result) string {
	if inner := errors.Unwrap(r.Err); inner != nil {
		return inner.Error()
	}
	return strings.TrimPrefix(r.Err.Error(), r.Label()+": ")
}

// failureLines are the failures of a run, each under the index of the result where it is told. Renders of one
// mix that fail for one reason are told once. The line has the name of the track alone if all of its renders
// in this run failed so, that of the release's own chain among them, and otherwise the name of each that did.
func failureLines(results []pipeline.Result) map[int]string {
	type cause struct{ track, reason string }
	first, labels, renders := map[cause]int{}, map[cause][]string{}, map[string]int{}
	for i := range results {
		r := &results[i]
		renders[r.Track]++
		if r.State != pipeline.Failed {
			continue
		}
		c := cause{r.Track, reason(r)}
		if labels[c] == nil {
			first[c] = i
		}
		labels[c] = append(labels[c], r.Label())
	}
	lines := make(map[int]string, len(first))
	for c, i := range first {
		who := strings.Join(labels[c], ", ")
		if len(labels[c]) == renders[c.track] && slices.Contains(labels[c], c.track) {
			who = c.track
		}
		lines[i] = who + ": " + c.reason
	}
	return lines
}
