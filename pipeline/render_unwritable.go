package pipeline

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"syscall"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/release"
)

// notWritable says whether an error is that of a lock that nobody holds and that cannot be made, because the
// output folder may only be read. Where its file is there, another user may be at work.
func notWritable(folder string, err error) bool {
	if !errors.Is(err, fs.ErrPermission) && !errors.Is(err, syscall.EROFS) {
		return false
	}
	_, there := os.Lstat(filepath.Join(folder, lockName))
	return errors.Is(there, fs.ErrNotExist)
}

// withoutLock is the outcome of a run in a folder that may only be read, if it finds all up to date and
// nothing to write; nil: there is something, or that cannot be told. Like Forecast, it needs no lock: it
// changes nothing. It tells nobody of anything unless it has an outcome.
func withoutLock(ctx context.Context, r *release.Release, o Options, f files, chosen []int) *Outcome {
	if o.Force || !o.Part.Whole() {
		return nil
	}
	past, err := fresh.Open(r.Output.Folder, false)
	if err != nil {
		return nil
	}
	e := newEngine(r, o, f, past)
	e.options.Progress = nil
	e.decide(ctx, chosen)
	if !e.nothingToWrite(ctx, chosen) || ctx.Err() != nil {
		return nil
	}
	e.options.Progress = o.Progress
	out := &Outcome{Ledger: past.Ledger, Left: e.countLeft(ctx)}
	e.tellKept(chosen, out)
	note := fmt.Sprintf("%q cannot be written to; nothing has to be written", r.Output.Folder)
	out.Notes = append(out.Notes, note)
	return out
}

// nothingToWrite says whether a run that has decided would leave every file as it is, but for those that only
// spare work.
func (e *engine) nothingToWrite(ctx context.Context, chosen []int) bool {
	for _, i := range chosen {
		j, coders := &e.jobs[i], len(e.release.Renders[i].Coders)
		if j.result.State != Kept || e.options.RunCoders && len(j.entry.Coders) != coders {
			return false
		}
	}
	l, entries := e.newLedger()
	if !e.past.Says(l, entries) || !e.matchedAsIs(ctx, chosen) || e.past.Moved() {
		return false
	}
	return e.past.Along.IsIn(e.alongPath(), e.alongShas()) && e.tidyAsIs()
}

// matchedAsIs says whether the copies of the chosen tracks at one loudness are as they are to be.
func (e *engine) matchedAsIs(ctx context.Context, chosen []int) bool {
	todo, without, gains := e.toMatch(chosen)
	return !slices.ContainsFunc(without, func(i int) bool { return e.jobs[i].entry.Matched != nil }) &&
		!slices.ContainsFunc(todo, func(i int) bool { return !e.isMatched(ctx, i, gains[i]) })
}
