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
	var first []int // of each group
	for _, i := range chosen {
		if e.firstOf(i) == i {
			first = append(first, i)
		}
	}
	e.crew.Each(ctx, first, e.keep)
	return slices.DeleteFunc(first, func(i int) bool { return e.jobs[i].why == "" })
}

// keep books that the renders of a group are up to date, if they all are, or that nobody can tell.
func (e *engine) keep(ctx context.Context, first int) {
	group := e.jobs[first].group
	whys, errs := make([]string, len(group)), make([]error, len(group))
	for n, i := range group {
		whys[n], errs[n] = e.stale(ctx, i)
	}
	e.share(group, whys, errs)
	for n, i := range group {
		switch {
		case errs[n] != nil:
			e.fail(ctx, i, errs[n])
		case whys[n] != "":
			e.jobs[i].why = whys[n]
			continue
		default:
			e.keepEntry(i, e.refitted(ctx, &e.release.Renders[i], e.jobs[i].entry))
		}
		e.tell(Event{Step: Ended, Render: &e.release.Renders[i], Result: e.jobs[i].result})
	}
}

// stale says why a render by itself is stale, if it is.
func (e *engine) stale(ctx context.Context, i int) (string, error) {
	r := &e.release.Renders[i]
	return track.Protect(r.Label(), func() (string, error) {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		why, err := e.rules.Stale(ctx, r, e.jobs[i].entry)
		if err != nil {
			if foreign := e.foresee(r); foreign != nil { // a folder in the way is not to be read
				err = foreign
			}
		} else if why == "" {
			why, err = e.staleCoders(ctx, r, e.jobs[i].entry)
		}
		return why, err
	})
}

// keepEntry books the entry of a render that is up to date.
func (e *engine) keepEntry(i int, entry *ledger.Track) {
	r := &e.release.Renders[i]
	if entry.Removed != nil && !e.wantsRemoved(r) {
		kept := *entry
		kept.Removed = nil
		entry = &kept
	}
	e.jobs[i].result = Result{
		Track: r.Track, Variant: r.Variant, Delivery: r.Delivery, State: Kept, Was: entry, Is: entry,
		Warnings: warnings(r, entry), Silent: silentMix(entry),
	}
	e.jobs[i].entry = entry
}
