package pipeline

import (
	"context"
	"fmt"
	"slices"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// inPart are those of the chosen renders that are in a part. All of a track are in the same one, and so are
// all of a continuous group, by its first track.
func inPart(r *release.Release, chosen []int, p fresh.Part) []int {
	return slices.DeleteFunc(chosen, func(i int) bool {
		x := &r.Renders[i]
		name := x.Track
		if len(x.Continuous) > 0 {
			name = x.Continuous[0]
		}
		return !p.Has(name)
	})
}

// endPart is the outcome of a part. Its journal stays for the run of the whole release, which writes the
// ledger, the page and the state file: other parts may be at work.
func (e *engine) endPart(ctx context.Context) (*Outcome, error) {
	r := e.release
	out := &Outcome{Ledger: ledger.New(e.options.Tool, r.Title, r.CeilingDBFS, r.Hash)}
	e.report(out)
	for i := range e.jobs {
		if e.jobs[i].result.State != "" && e.jobs[i].entry != nil {
			out.Ledger.Tracks = append(out.Ledger.Tracks, *e.jobs[i].entry)
		}
	}
	out.Ledger.Sum()
	if err := e.unbooked.Load(); err != nil {
		return out, fmt.Errorf("write the journal: %w", *err)
	}
	if err := e.journal.Sync(); err != nil {
		return out, fmt.Errorf("write the journal: %w", err)
	}
	return out, ctx.Err()
}
