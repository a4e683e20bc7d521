package pipeline

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"

	"ledgerline/pipeline/coder"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// An engine renders one release once.
type engine struct {
	release *release.Release
	options Options
	files   files
	past    *fresh.Past
	rules   *fresh.Rules
	journal *fresh.Journal // nil where nothing is rendered
	mixes   *guard
	crew    *track.Crew
	bench   *coder.Bench
	block   int      // frames of a batch
	ahead   bool     // nothing is rendered; see belonging
	tidied  sync.Map // of folder: it has been tidied
	written sync.Map // of path: the hash of what this run has put there
	along   sync.Map // of hash: a line of a new record along a track

	unbooked atomic.Pointer[error] // the first error of the journal; nil: it has all

	jobs []job // one for each render of the release, in its order
}

// A job is what a run knows of one render.
type job struct {
	group    []int         // the renders that are one stream with it, itself among them
	entry    *ledger.Track // in the ledger; nil: never rendered
	result   Result        // what came of it
	why      string        // it is stale; empty: it was kept, or not decided on
	replaced string        // a note on what its matched copy replaced; empty: nothing of note
}

// blockFrames is how many frames are read at once. What a batch of a stereo
// track takes at all boundaries then fits in a processor's own cache.
const blockFrames = 4096

func newEngine(r *release.Release, o Options, f files, past *fresh.Past) *engine {
	e := &engine{release: r, options: o, files: f, past: past, crew: track.NewCrew(o.Jobs), block: blockFrames}
	e.rules = &fresh.Rules{
		Release: r, Past: past,
		Force: o.Force, Replace: o.Replace, AllowNonFinite: o.AllowNonFinite,
		Removed: o.Removed || r.Output.Removed,
	}
	e.mixes = &guard{}
	e.bench = coder.NewBench(r.Folder, r.Output.Folder)
	e.jobs = make([]job, len(r.Renders))
	for i, group := range groupsOf(r) {
		e.mixes.paths = append(e.mixes.paths, r.Renders[i].Source)
		e.jobs[i].group = group
		e.jobs[i].entry = past.Entry(&r.Renders[i])
	}
	return e
}

// run renders what is chosen and stale, and writes the ledger.
func (e *engine) run(ctx context.Context, chosen []int) (*Outcome, error) {
	e.tell(Event{Step: Deciding, Count: int64(len(chosen))})
	works := e.gather(e.decide(ctx, chosen))
	e.crew.Each(ctx, numbers(len(works)), func(ctx context.Context, n int) { e.bringUpToDate(ctx, works[n]) })
	e.checkKept(ctx, chosen)
	e.match(ctx, chosen)
	e.tell(Event{Step: Done})
	if !e.options.Part.Whole() {
		return e.endPart(ctx)
	}
	out := &Outcome{Left: e.countLeft(ctx)}
	e.report(out)
	if note := out.Left.Note(e.release.Path); note != "" {
		out.Notes = append(out.Notes, note)
	}
	later, err := e.takeLater()
	if err != nil {
		out.Ledger, _ = e.newLedger()
		out.Ledger.Sum()
		return out, err
	}
	if later != "" {
		out.Notes = append(out.Notes, later)
	}
	if out.Ledger, err = e.writeLedger(); err != nil {
		return out, err
	}
	notes, unwritten := e.writePapers(out.Ledger)
	out.Notes, out.Unwritten = append(out.Notes, notes...), unwritten
	if note := e.writePage(out.Ledger); note != "" {
		out.Notes = append(out.Notes, note)
	}
	if len(e.jobs) >= leastBrief && e.briefs() {
		e.past.SaveBrief(ctx, out.Ledger)
	} else {
		e.past.RemoveBrief()
	}
	e.past.Seen.Made = e.made()
	e.past.Seen.Save(e.paths())
	e.journal.Remove()
	e.past.RemoveJournals()
	return out, ctx.Err()
}

// report puts what came of each render into an outcome.
func (e *engine) report(out *Outcome) {
	for i := range e.jobs {
		j := &e.jobs[i]
		if j.replaced != "" {
			out.Notes = append(out.Notes, j.replaced)
		}
		if j.result.State != "" {
			out.Results = append(out.Results, j.result)
		}
	}
	out.Notes = append(out.Notes, e.unchecked()...)
	out.Notes = append(out.Notes, e.past.Notes(e.options.Part)...)
}

// gather are the stale renders, each list of them to be rendered at once: those of one mix and one variant,
// which share a chain's beginning. Those that are one stream go by the first of them.
func (e *engine) gather(stale []int) (works [][]int) {
	for _, i := range stale {
		last := len(works) - 1
		if last >= 0 && e.together(works[last][0], i) {
			works[last] = append(works[last], i)
		} else {
			works = append(works, []int{i})
		}
	}
	return works
}

// together says whether two renders are of one mix and one variant.
func (e *engine) together(a, b int) bool {
	x, y := &e.release.Renders[a], &e.release.Renders[b]
	return x.Track == y.Track && x.Variant == y.Variant
}

// numbers are 0 to n-1.
func numbers(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// bringUpToDate renders what is stale and one work.
func (e *engine) bringUpToDate(ctx context.Context, work []int) {
	if len(e.jobs[work[0]].group) > 1 {
		e.bringGroupsUpToDate(ctx, work)
	} else {
		e.bringTreeUpToDate(ctx, work)
	}
}

// renewed books the new entry of a render.
func (e *engine) renewed(i int, entry *ledger.Track) {
	res := &e.jobs[i].result
	res.Was, res.Is = e.jobs[i].entry, entry
	e.jobs[i].entry = entry
	res.Warnings, res.Silent = warnings(&e.release.Renders[i], entry), silentMix(entry)
}

// fail books that a render was not brought up to date.
func (e *engine) fail(ctx context.Context, i int, err error) {
	r := &e.release.Renders[i]
	e.jobs[i].result = Result{
		Track: r.Track, Variant: r.Variant, Delivery: r.Delivery, State: Failed,
		Err: fmt.Errorf("%s: %w", r.Label(), err),
	}
	if ctx.Err() != nil {
		e.jobs[i].result.State, e.jobs[i].result.Err = Interrupted, nil
	}
}

// amend changes a render's entry, not the one that the old ledger holds.
func (e *engine) amend(i int, change func(*ledger.Track)) {
	if e.jobs[i].entry != nil {
		t := *e.jobs[i].entry
		change(&t)
		e.jobs[i].entry = &t
	}
}

// silentMix reports whether all samples of the mix that an entry is of are zero.
func silentMix(t *ledger.Track) bool {
	return t.Source.Frames > 0 && t.Boundaries[0].SamplePeakDBFS == nil && t.Boundaries[0].NonFiniteSamples == 0
}

// warnings are what an engineer should know of a render that did not fail.
func warnings(r *release.Render, t *ledger.Track) []string {
	var w []string
	if n := fresh.NonFiniteIn(t); n > 0 {
		text := fmt.Sprintf("%s: %d samples of the mix are NaN or infinite and were rendered as zeros",
			r.Label(), n)
		if n == 1 {
			text = fmt.Sprintf("%s: 1 sample of the mix is NaN or infinite and was rendered as zero", r.Label())
		}
		if at := t.Boundaries[0].FirstNonFiniteTimeS; at != nil {
			text += fmt.Sprintf(", the first at %v s", *at)
		}
		w = append(w, text)
	}
	if n := t.Output.LimitedSamples; n > 0 {
		samples := "samples were"
		if n == 1 {
			samples = "sample was"
		}
		w = append(w, fmt.Sprintf("%s: %d %s limited to full scale on writing", r.Label(), n, samples))
	}
	return w
}

// renderKey tells the renders of a release apart.
type renderKey struct{ track, variant, delivery string }

func keyOf(r *release.Render) renderKey { return renderKey{r.Track, r.Variant, r.Delivery} }

// Label names the render that a result is of.
func (r Result) Label() string { return ledger.Label(r.Track, ledger.Version(r.Variant, r.Delivery)) }
