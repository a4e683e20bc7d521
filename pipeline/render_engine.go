package pipeline

import (
	"context"
	"fmt"
	"slices"
	"sync"

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
	block   int      // frames of a batch
	tidied  sync.Map // of folder: it has been tidied
	written sync.Map // of path: the hash of what this run has put there
	along   sync.Map // of hash: a line of a new record along a track

	groups   [][]int         // of each render of the release, the renders that are one stream with it, itself among them
	entries  []*ledger.Track // of each render of the release; nil: never rendered
	results  []Result        // the same order
	whys     []string        // the same order: it is stale; empty: it was kept, or not decided on
	replaces []string        // the same order: notes on what its matched copy replaced; empty: nothing of note
}

// blockFrames is how many frames are read at once. What a batch of a stereo
// track takes at all boundaries then fits in a processor's own cache.
const blockFrames = 4096

func newEngine(r *release.Release, o Options, f files, past *fresh.Past) *engine {
	e := &engine{release: r, options: o, files: f, past: past, crew: track.NewCrew(o.Jobs), block: blockFrames}
	e.rules = &fresh.Rules{
		Release: r, Past: past,
		Force: o.Force, Replace: o.Replace, AllowNonFinite: o.AllowNonFinite, Removed: e.wantsRemoved(),
	}
	e.mixes = &guard{}
	e.groups = groupsOf(r)
	e.entries = make([]*ledger.Track, len(r.Renders))
	e.results = make([]Result, len(r.Renders))
	e.whys = make([]string, len(r.Renders))
	e.replaces = make([]string, len(r.Renders))
	for i := range r.Renders {
		e.mixes.paths = append(e.mixes.paths, r.Renders[i].Source)
		e.entries[i] = past.Entry(r.Renders[i].Track, r.Renders[i].Variant)
	}
	return e
}

// run renders what is chosen and stale, and writes the ledger.
func (e *engine) run(ctx context.Context, chosen []int) (*Outcome, error) {
	e.tell(Event{Step: Deciding, Count: int64(len(chosen))})
	e.crew.Each(ctx, e.decide(ctx, chosen), e.bringUpToDate)
	e.match(ctx, chosen)
	e.tell(Event{Step: Done})
	noted := slices.DeleteFunc(e.replaces, func(note string) bool { return note == "" })
	out := &Outcome{Notes: append(noted, e.past.Notes...), Left: e.countLeft(ctx)}
	if note := out.Left.Note(e.release.Path); note != "" {
		out.Notes = append(out.Notes, note)
	}
	for i := range e.results {
		if e.results[i].State != "" {
			out.Results = append(out.Results, e.results[i])
		}
	}
	var err error
	if out.Ledger, err = e.writeLedger(); err != nil {
		return out, err
	}
	e.past.Seen.Made = e.made()
	e.past.Seen.Save(e.paths())
	e.journal.Remove()
	return out, ctx.Err()
}

// bringUpToDate renders one render, which is stale.
func (e *engine) bringUpToDate(ctx context.Context, i int) {
	if len(e.groups[i]) > 1 {
		e.bringGroupUpToDate(ctx, e.groups[i])
		return
	}
	r := &e.release.Renders[i]
	entry, err := track.Protect(r.Label(), func() (*ledger.Track, error) { return e.renew(ctx, i) })
	if err != nil {
		e.fail(ctx, i, err)
	} else {
		e.renewed(i, entry)
	}
	e.tell(Event{Step: Ended, Render: r, Result: e.results[i]})
}

// renewed books the new entry of a render.
func (e *engine) renewed(i int, entry *ledger.Track) {
	res := &e.results[i]
	res.Was, res.Is = e.entries[i], entry
	e.entries[i] = entry
	res.Warnings, res.Silent = warnings(&e.release.Renders[i], entry), silentMix(entry)
}

// renew is the new entry of a render that is stale.
func (e *engine) renew(ctx context.Context, i int) (*ledger.Track, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r := &e.release.Renders[i]
	e.results[i] = Result{Track: r.Track, Variant: r.Variant, State: Rendered, Why: e.whys[i]}
	return e.render(ctx, r)
}

// fail books that a render was not brought up to date.
func (e *engine) fail(ctx context.Context, i int, err error) {
	r := &e.release.Renders[i]
	e.results[i] = Result{Track: r.Track, Variant: r.Variant, State: Failed, Err: fmt.Errorf("%s: %w", r.Label(), err)}
	if ctx.Err() != nil {
		e.results[i].State, e.results[i].Err = Interrupted, nil
	}
}

// amend changes a render's entry, not the one that the old ledger holds.
func (e *engine) amend(i int, change func(*ledger.Track)) {
	if e.entries[i] != nil {
		t := *e.entries[i]
		change(&t)
		e.entries[i] = &t
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
		text := fmt.Sprintf("%s: %d samples of the mix are NaN or infinite and were rendered as zeros", r.Label(), n)
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
type renderKey struct{ track, variant string }

// Label names the render that a result is of.
func (r Result) Label() string { return ledger.Label(r.Track, r.Variant) }
