package pipeline

import (
	"context"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// A treeRun renders a mix by one variant and by the deliveries that continue it: what their chains begin
// with is rendered once. Each is rendered again by itself, with lower aims, while a hold's promise is not
// kept and that may help. What comes out of one depends on the mix and its chain alone, and if one fails, its
// old files stay and the others are finished.
type treeRun struct {
	*engine
	limbs []*limb
}

// A limb is one render of a tree.
type limb struct {
	i     int // by its place in the release
	r     *release.Render
	chain []stages.Use // its own, or with another ceiling while one is sought for its coders
	tries *track.Tries
	coded *coding       // nil: it goes through no coders
	entry *ledger.Track // the new one, once its files are in their places
	err   error         // it failed
}

func (l *limb) done() bool { return l.entry != nil || l.err != nil }

// bringTreeUpToDate renders the renders of a tree, which are stale.
func (e *engine) bringTreeUpToDate(ctx context.Context, tree []int) {
	t := &treeRun{engine: e}
	for _, i := range tree {
		r := &e.release.Renders[i]
		e.jobs[i].result = Result{
			Track: r.Track, Variant: r.Variant, Delivery: r.Delivery, State: Rendered, Why: e.jobs[i].why,
		}
		l := &limb{i: i, r: r, coded: e.newCoding(ctx, []int{i})}
		l.begin()
		t.limbs = append(t.limbs, l)
	}
	until(t.limbs[0].r.Label(), t.limbs, func(todo []*limb) error {
		return t.once(ctx, todo)
	}, func(l *limb, err error) {
		if err != nil && !l.done() {
			l.err = err
		}
		if l.done() {
			t.book(ctx, l)
		}
	})
}

// until renders in one pass what there is to do, and again what is not done after that, until all is. An
// error of a pass, which may be a panic's, is one of all that it has not done; after is told of it for each.
func until[T interface{ done() bool }](label string, todo []T, once func([]T) error, after func(T, error)) {
	for len(todo) > 0 {
		_, err := track.Protect(label, func() (struct{}, error) { return struct{}{}, once(todo) })
		var again []T
		for _, x := range todo {
			if after(x, err); !x.done() {
				again = append(again, x)
			}
		}
		todo = again
	}
}

// begin readies the first render by a chain.
func (l *limb) begin() {
	l.chain = l.coded.chain(l.r.Chain)
	l.tries = newTries(l.r, l.chain)
}

// book books what came of a render.
func (t *treeRun) book(ctx context.Context, l *limb) {
	if l.err != nil {
		t.fail(ctx, l.i, l.err)
	} else {
		t.renewed(l.i, l.entry)
	}
	t.tell(Event{Step: Ended, Render: l.r, Result: t.jobs[l.i].result})
}

// once renders limbs in one pass. Those that are neither done nor failed then are to be rendered again,
// with lower aims. An error is one of all that are not done.
func (t *treeRun) once(ctx context.Context, limbs []*limb) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	in, err := t.open(limbs[0].r.Source)
	if err != nil {
		return err
	}
	defer in.Close()
	tree := t.plant(in, limbs)
	defer tree.Abort()
	if err := tree.Run(ctx, t.crew); err != nil {
		return err
	}
	for n, l := range limbs {
		if l.err = tree.Err(n); l.err != nil {
			if unfit := t.release.Unfit(l.r, in.Info().Rate); unfit != nil {
				l.err = unfit
			}
		}
	}
	if tree.Failed() {
		return nil
	}
	sha, err := in.Sum(ctx)
	if err != nil {
		return err
	}
	for n, l := range limbs {
		if l.err == nil {
			l.entry, l.err = t.finishLimb(ctx, l, tree.Passes[n], sha)
		}
	}
	return nil
}

// plant readies the pass through a mix by the chains of some limbs, with their meters and outputs.
func (t *treeRun) plant(in *track.Input, limbs []*limb) *track.Tree {
	branches := make([]track.Branch, len(limbs))
	for n, l := range limbs {
		branches[n] = track.Branch{Chain: l.chain, Tries: l.tries}
	}
	tree := track.NewTree(in, branches, track.Options{
		Seed: track.Seed(limbs[0].r.Track), Zeros: t.options.AllowNonFinite, Frames: t.block,
		LevelDBSPL: t.release.Audibility.LevelDBSPL,
	})
	tree.Measure(t.release.CeilingDBFS)
	tree.Each(func(n int, p *track.Pass) error {
		r := limbs[n].r
		if err := t.release.Unfit(r, p.Info().Rate); err != nil {
			return err
		}
		if r.DiscFrames != "" {
			p.WholeDiscFrames(t.release.CeilingDBFS)
		}
		if a := t.release.Audibility; a.Measure {
			if err := p.Hear(track.Hearing{LevelDBSPL: a.LevelDBSPL, Aliasing: a.Aliasing}); err != nil {
				return err
			}
		}
		if r.Main == nil { // nobody looks along a delivery
			p.Record(t.release.CeilingDBFS)
		}
		p.Advance = func(frames int) { t.tell(Event{Step: Advanced, Render: r, Count: int64(frames)}) }
		if err := t.makeOutputs(p, by(r, limbs[n].chain)); err != nil {
			return err
		}
		begun := Event{Step: Begun, Render: r, Count: p.Output().Frames}
		if limbs[n].tries.Again() {
			begun.Step = BegunAgain
		}
		t.tell(begun)
		return nil
	})
	return tree
}

// finishLimb puts the files of a render in their places, unless it breaks a promise which lower aims may
// keep, or another ceiling is to be tried for its coders: then it lowers them, and the entry is nil.
func (t *treeRun) finishLimb(ctx context.Context, l *limb, p *track.Pass, sha string) (*ledger.Track, error) {
	entry := p.Entry(t.release.CeilingDBFS)
	entry.Name, entry.Variant, entry.Delivery, entry.Recipe = l.r.Track, l.r.Variant, l.r.Delivery,
		fresh.Recipe(t.release, l.r)
	if again, err := l.tries.Judge(entry, sha); again || err != nil {
		return nil, err
	}
	again, _, err := l.coded.judge(ctx, []*ledger.Track{entry}, []track.Sink{p.To})
	if again {
		l.begin()
	}
	if again || err != nil {
		return nil, err
	}
	return t.record(p, l.r, entry, sha)
}
