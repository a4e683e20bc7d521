package pipeline

import (
	"context"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// staleCoders says why a render that is up to date is to be rendered again for its coders: a ceiling is to be
// sought.
func (e *engine) staleCoders(ctx context.Context, r *release.Render, entry *ledger.Track) (string, error) {
	if !e.options.RunCoders {
		return "", nil
	}
	for _, x := range r.Coders {
		if _, err := e.bench.Versions(ctx, x); err != nil {
			return "", err
		}
		if !x.Solve {
			continue
		}
		if old := e.recorded(ctx, x, entry); old == nil || old.Solved == nil {
			return fmt.Sprintf("no ceiling has been sought for coder %q as it is now", x.Name), nil
		}
	}
	return "", nil
}

// refitted is the entry of a render that is up to date, with what came back from the coders that it has now,
// and no others.
func (e *engine) refitted(ctx context.Context, r *release.Render, entry *ledger.Track) *ledger.Track {
	var coders []ledger.Coded
	for _, x := range r.Coders {
		if old := e.recorded(ctx, x, entry); old != nil {
			coders = append(coders, *old)
		}
	}
	if reflect.DeepEqual(coders, entry.Coders) {
		return entry
	}
	is := *entry
	is.Coders = coders
	return &is
}

// checkKept takes the files of deliveries that were up to date through the coders that they have not been
// through.
func (e *engine) checkKept(ctx context.Context, chosen []int) {
	if !e.options.RunCoders {
		return
	}
	todo := slices.DeleteFunc(slices.Clone(chosen), func(i int) bool {
		return e.jobs[i].result.State != Kept || len(e.release.Renders[i].Coders) == len(e.jobs[i].entry.Coders)
	})
	e.crew.Each(ctx, todo, func(ctx context.Context, i int) {
		if _, err := track.Protect(e.release.Renders[i].Label(), func() (struct{}, error) {
			return struct{}{}, e.checkOne(ctx, i)
		}); err != nil {
			e.fail(ctx, i, err)
		}
	})
}

func (e *engine) checkOne(ctx context.Context, i int) error {
	r, entry := &e.release.Renders[i], e.jobs[i].entry
	var coders []ledger.Coded
	for _, x := range r.Coders {
		coded := e.recorded(ctx, x, entry)
		if coded == nil {
			var err error
			if coded, err = e.takeThrough(ctx, x, entry, r.Output, entry.Output.SHA256); err != nil {
				return err
			}
		}
		coders = append(coders, *coded)
	}
	e.amend(i, func(t *ledger.Track) { t.Coders = coders })
	e.jobs[i].result.Is = e.jobs[i].entry
	e.book(r, e.jobs[i].entry, nil)
	return nil
}

// unchecked names the deliveries, among those that are up to date now, that did not go through all of their
// coders.
func (e *engine) unchecked() (notes []string) {
	tracks := map[string]int{}
	coders := map[string][]string{}
	for i := range e.jobs {
		r, t := &e.release.Renders[i], e.jobs[i].entry
		if state := e.jobs[i].result.State; state != Rendered && state != Kept || t == nil ||
			len(r.Coders) <= len(t.Coders) {
			continue
		}
		tracks[r.Delivery]++
		for _, x := range r.Coders {
			if !slices.ContainsFunc(t.Coders, func(c ledger.Coded) bool { return c.Coder == x.Name }) &&
				!slices.Contains(coders[r.Delivery], x.Name) {
				coders[r.Delivery] = append(coders[r.Delivery], x.Name)
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(tracks)) {
		s := "s"
		if tracks[name] == 1 {
			s = ""
		}
		notes = append(notes,
			fmt.Sprintf("delivery %q is not checked through %s (%d track%s): render --run-coders does", name,
				strings.Join(coders[name], ", "), tracks[name], s))
	}
	return notes
}
