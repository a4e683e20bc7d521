package pipeline

import (
	"context"
	"slices"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/track"
)

// decide books which of the renders are kept and returns the others, which are
// stale. That comes before all rendering, so that whoever is told of the progress
// knows early how much there is to do.
func (e *engine) decide(ctx context.Context, chosen []int) []int {
	e.crew.Each(ctx, chosen, e.keep)
	return slices.DeleteFunc(slices.Clone(chosen), func(i int) bool { return e.whys[i] == "" })
}

// keep books that a render is up to date, if it is, or that nobody can tell.
func (e *engine) keep(ctx context.Context, i int) {
	r, entry := &e.release.Renders[i], e.entries[i]
	why, err := track.Protect(r.Label(), func() (string, error) {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		return e.rules.Stale(ctx, r, entry)
	})
	switch {
	case err != nil:
		e.fail(ctx, i, err)
	case why != "":
		e.whys[i] = why
		return
	default:
		e.keepEntry(i, entry)
	}
	e.tell(Event{Step: Ended, Render: r, Result: e.results[i]})
}

// keepEntry books the entry of a render that is up to date.
func (e *engine) keepEntry(i int, entry *ledger.Track) {
	r := &e.release.Renders[i]
	if entry.Removed != nil && !e.wantsRemoved() {
		kept := *entry
		kept.Removed = nil
		entry = &kept
	}
	e.results[i] = Result{Track: r.Track, Variant: r.Variant, State: Kept, Was: entry, Is: entry, Warnings: warnings(r, entry), Silent: silentMix(entry)}
	e.entries[i] = entry
}
