package pipeline

import (
	"context"
	"io"
	"path/filepath"
	"slices"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// leastBrief is from how many renders on the ledger is also kept in brief. Fewer are read as fast.
var leastBrief = 32

// nothingToDo is the outcome of a run that finds nothing to do, told from what is known in brief. It is nil
// where something may have to be done, which takes the whole ledger to say. It tells nobody of anything
// unless it has an outcome.
func (e *engine) nothingToDo(ctx context.Context, chosen []int) *Outcome {
	rows, brief := e.past.Brief()
	if !brief || !e.briefs() || e.options.Force || !e.options.Part.Whole() || e.release.Matches() {
		return nil
	}
	tell := e.options.Progress
	e.options.Progress = nil
	defer func() { e.options.Progress = tell }()
	e.decide(ctx, chosen)
	if !e.allKept(chosen) || !e.tidyAsIs() || e.past.Moved() || ctx.Err() != nil {
		return nil
	}
	e.options.Progress = tell
	out := e.briefOutcome(ctx, rows)
	e.tellKept(chosen, out)
	for i := range out.Results {
		out.Results[i].Was, out.Results[i].Is = nil, nil
	}
	e.past.Seen.Made = e.made()
	e.past.Seen.Save(e.paths())
	return out
}

// tellKept tells of a run that has found the chosen renders up to date, and puts them into its outcome.
func (e *engine) tellKept(chosen []int, out *Outcome) {
	e.tell(Event{Step: Deciding, Count: int64(len(chosen))})
	for _, i := range chosen {
		e.tell(Event{Step: Ended, Render: &e.release.Renders[i], Result: e.jobs[i].result})
	}
	e.tell(Event{Step: Done})
	e.report(out)
	if note := out.Left.Note(e.release.Path); note != "" {
		out.Notes = append(out.Notes, note)
	}
}

// briefOutcome is an outcome without a ledger.
func (e *engine) briefOutcome(ctx context.Context, rows []ledger.Row) *Outcome {
	l := e.past.Ledger
	return &Outcome{Left: e.countLeft(ctx), rows: rows, title: l.Title, from: l.CeilingDBFS}
}

// allKept says whether all chosen renders are up to date, and all entries those that the ledger has.
func (e *engine) allKept(chosen []int) bool {
	if slices.ContainsFunc(chosen, func(i int) bool { return e.jobs[i].result.State != Kept }) {
		return false
	}
	entries := make([]*ledger.Track, len(e.jobs))
	for i := range e.jobs {
		if entries[i] = e.jobs[i].entry; entries[i] == nil || entries[i].Matched != nil {
			return false
		}
	}
	return e.past.Says(e.head(), entries)
}

// head is a ledger of this run without entries.
func (e *engine) head() *ledger.Ledger {
	r := e.release
	l := ledger.New(e.options.Tool, r.Title, r.CeilingDBFS, r.Hash)
	l.Order, l.GapsS = r.Order, r.GapsS
	for _, p := range e.papers() {
		l.Papers = append(l.Papers, p.File)
	}
	return l
}

// tidyAsIs says whether the page and the papers that the release asks for are there.
func (e *engine) tidyAsIs() bool {
	if e.release.Output.Page && !isPage(filepath.Join(e.release.Output.Folder, page.FileName)) {
		return false
	}
	for _, p := range e.papers() {
		if e.whyPaper(p, e.past.Ledger.Paper(p.name, p.Delivery), e.past.Ledger) != "" {
			return false
		}
	}
	return true
}

// briefs says whether what is kept in brief is enough for the release: not for coders, nor for an order of
// the tracks and what goes by it.
func (e *engine) briefs() bool {
	if len(e.release.Order) > 0 || len(e.release.GapsS) > 0 {
		return false
	}
	return !slices.ContainsFunc(e.release.Renders, func(r release.Render) bool {
		return len(r.Coders) > 0 || r.Sheet || r.Cue || r.DiscFrames != ""
	})
}

// isPage says whether the file at a path is a page of a ledger. Only its beginning is read.
func isPage(path string) bool {
	f, err := whole.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	text := make([]byte, page.Head)
	n, _ := io.ReadFull(f, text)
	return page.Is(text[:n])
}

// forecastInBrief is the forecast of a release all of whose chosen renders are up to date, told from what
// is known in brief; nil where they are not or that cannot be told.
func (e *engine) forecastInBrief(ctx context.Context, chosen []int) *Outcome {
	rows, brief := e.past.Brief()
	if !brief || !e.briefs() || e.options.Force {
		return nil
	}
	results := e.forecasts(ctx, chosen)
	if ctx.Err() != nil || slices.ContainsFunc(results, func(r Result) bool { return r.State != Kept }) {
		return nil
	}
	out := e.briefOutcome(ctx, rows)
	out.Results, out.Papers = results, e.forecastPapers(results)
	return out
}
