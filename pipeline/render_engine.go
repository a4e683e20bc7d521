package pipeline

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"

	"golang.org/x/sync/errgroup"
	"golang.org/x/sync/semaphore"

	"ledgerline/pipeline/ledger"
)

// An engine renders one release once.
type engine struct {
	release *Release
	options Options
	files   files
	old     *oldLedger
	seen    *seen
	mixes   *guard
	jobs    int
	tokens  *semaphore.Weighted // one for each job: whoever computes holds one
	spaces  chan *workspace
	block   int // frames of a batch

	entries []*ledger.Track // of each render of the release; nil: never rendered
	results []Result        // the same order
}

// blockFrames is how many frames are read at once. What a batch of a stereo
// track takes at all boundaries then fits in a processor's own cache.
const blockFrames = 4096

func newEngine(r *Release, o Options, f files, old *oldLedger) *engine {
	e := &engine{release: r, options: o, files: f, old: old, jobs: o.Jobs, block: blockFrames}
	if e.jobs <= 0 {
		e.jobs = runtime.GOMAXPROCS(0)
	}
	if e.options.Progress == nil {
		e.options.Progress = silent{}
	}
	e.seen = loadSeen(r.Output.Folder)
	e.tokens = semaphore.NewWeighted(int64(e.jobs))
	e.spaces = make(chan *workspace, e.jobs)
	for range e.jobs {
		e.spaces <- &workspace{}
	}
	e.mixes = &guard{}
	e.entries = make([]*ledger.Track, len(r.Renders))
	e.results = make([]Result, len(r.Renders))
	for i := range r.Renders {
		e.mixes.paths = append(e.mixes.paths, r.Renders[i].Source)
		e.entries[i] = old.entry(r.Renders[i].key())
	}
	return e
}

// run renders what is chosen and stale, and writes the ledger.
func (e *engine) run(ctx context.Context, chosen []int) (*Outcome, error) {
	e.options.Progress.Begin(len(chosen))
	e.each(ctx, chosen, e.bringUpToDate)
	e.options.Progress.End()
	out := &Outcome{}
	for _, i := range chosen {
		out.Results = append(out.Results, e.results[i])
	}
	var err error
	if out.Ledger, err = e.writeLedger(); err != nil {
		return out, err
	}
	e.seen.save(e.paths())
	return out, ctx.Err()
}

// each calls do for every given render, several at once. Each call holds a token.
func (e *engine) each(ctx context.Context, renders []int, do func(context.Context, int)) {
	var g errgroup.Group
	g.SetLimit(e.jobs)
	for _, i := range renders {
		g.Go(func() error {
			if e.tokens.Acquire(ctx, 1) == nil {
				defer e.tokens.Release(1)
			}
			do(ctx, i)
			return nil
		})
	}
	_ = g.Wait()
}

// bringUpToDate renders one render if it is stale.
func (e *engine) bringUpToDate(ctx context.Context, i int) {
	r := &e.release.Renders[i]
	res := &e.results[i]
	res.Track, res.Variant = r.Track, r.Variant
	entry, err := e.decide(ctx, i, res)
	switch {
	case err != nil && ctx.Err() != nil:
		res.State = Interrupted
	case err != nil:
		res.State, res.Err = Failed, fmt.Errorf("%s: %w", r.label(), err)
	default:
		e.entries[i] = entry
	}
	e.options.Progress.TrackEnd(r, *res)
}

// decide finds out whether a render is stale, and renders it if so.
func (e *engine) decide(ctx context.Context, i int, res *Result) (entry *ledger.Track, err error) {
	r := &e.release.Renders[i]
	defer func() {
		if p := recover(); p != nil {
			err = &panicked{r.label(), p, debug.Stack()}
		}
	}()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if res.Why, err = e.stale(ctx, r, e.entries[i]); err != nil {
		return nil, err
	}
	if res.Why == "" {
		res.State = Kept
		return e.entries[i], nil
	}
	res.State = Rendered
	return e.render(ctx, r, res)
}

// renderKey tells the renders of a release apart.
type renderKey struct{ track, variant string }

func (r *Render) key() renderKey { return renderKey{r.Track, r.Variant} }

// label names a render in messages.
func (r *Render) label() string {
	if r.Variant == "" {
		return r.Track
	}
	return r.Track + " (" + r.Variant + ")"
}
