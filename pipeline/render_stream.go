package pipeline

import (
	"context"
	"errors"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// groupRun renders tracks that run into each other, as one stream, by one variant and by the deliveries that
// continue it. What treeRun says of one mix is so of them.
type groupRun struct {
	*engine
	groups  []*group
	inputs  []*track.Input
	members []track.Member
	at      int // the member at work, by its place; -1: all of them are
}

// A group is the renders of a stream's tracks by one chain.
type group struct {
	renders []int        // by their places in the release, in the stream's order
	chain   []stages.Use // as of a limb
	tries   *track.Tries
	coded   *coding
	entries []*ledger.Track // the new ones, once the files of all are in their places
	err     error           // it failed
	at      int             // the member that failed, by its place; -1: all of them
}

func (x *group) done() bool { return x.entries != nil || x.err != nil }

func (g *groupRun) of(x *group, n int) *release.Render { return &g.release.Renders[x.renders[n]] }

// bringGroupsUpToDate renders groups of the same tracks, of each of which something is stale, by their first
// renders.
func (e *engine) bringGroupsUpToDate(ctx context.Context, firsts []int) {
	g := &groupRun{engine: e}
	for _, first := range firsts {
		x := &group{renders: e.jobs[first].group, coded: e.newCoding(ctx, e.jobs[first].group), at: -1}
		g.begin(x)
		g.groups = append(g.groups, x)
		for _, i := range x.renders {
			r := &e.release.Renders[i]
			e.jobs[i].result = Result{
				Track: r.Track, Variant: r.Variant, Delivery: r.Delivery, State: Rendered, Why: e.jobs[i].why,
			}
		}
	}
	label := e.release.Renders[firsts[0]].Label()
	until(label, g.groups, func(todo []*group) error { return g.once(ctx, todo) }, func(x *group, err error) {
		if err != nil && !x.done() {
			x.err, x.at = err, g.at
		}
		if x.done() {
			g.book(ctx, x)
		}
	})
}

// begin readies the first render by a chain.
func (g *groupRun) begin(x *group) {
	r := g.of(x, 0)
	x.chain = x.coded.chain(r.Chain)
	x.tries = newTries(r, x.chain)
}

// book books what came of a group.
func (g *groupRun) book(ctx context.Context, x *group) {
	for n, i := range x.renders {
		switch {
		case x.err == nil:
			g.renewed(i, x.entries[n])
		case x.at >= 0 && x.at != n:
			g.fail(ctx, i, g.becauseOf(x.renders[x.at], x.err))
		default:
			g.fail(ctx, i, x.err)
		}
		g.tell(Event{Step: Ended, Render: &g.release.Renders[i], Result: g.jobs[i].result})
	}
}

// once renders groups in one pass. Those that are neither done nor failed then are to be rendered again, with
// lower aims. An error is one of all that are not done.
func (g *groupRun) once(ctx context.Context, groups []*group) error {
	g.at = -1
	if err := ctx.Err(); err != nil {
		return err
	}
	defer g.close()
	tree, err := g.plant(groups)
	if err != nil {
		return g.blame(err)
	}
	defer tree.Abort()
	if err := tree.Run(ctx, g.crew); err != nil {
		return g.blame(err)
	}
	for i, x := range groups {
		if x.err = tree.Err(i); x.err != nil {
			g.unfit(x)
		}
	}
	if tree.Failed() {
		return nil
	}
	shas, sha, err := track.SumAll(ctx, g.members)
	if err != nil {
		return g.blame(err)
	}
	for i, x := range groups {
		if x.err == nil {
			x.entries, x.err = g.finishGroup(ctx, x, tree.Passes[i], shas, sha)
		}
	}
	return nil
}

// plant opens the mixes, and readies the pass through them by the chains of some groups, with their meters
// and outputs. The noise is that of the first track.
func (g *groupRun) plant(groups []*group) (*track.Tree, error) {
	for n := range groups[0].renders {
		g.at = n
		r := g.of(groups[0], n)
		in, err := g.open(r.Source)
		if err != nil {
			return nil, err
		}
		g.inputs = append(g.inputs, in)
		g.members = append(g.members, track.Member{Name: r.Track, In: in})
	}
	g.at = -1
	branches := make([]track.Branch, len(groups))
	for i, x := range groups {
		branches[i] = track.Branch{Chain: x.chain, Tries: x.tries}
	}
	tree, err := track.NewStreams(g.members, branches, track.Options{
		Seed: track.Seed(g.of(groups[0], 0).Track), Zeros: g.options.AllowNonFinite, Frames: g.block,
		LevelDBSPL: g.release.Audibility.LevelDBSPL,
	})
	if err != nil {
		return nil, err
	}
	tree.Measure(g.release.CeilingDBFS)
	tree.Each(func(i int, p *track.Pass) error { return g.ready(groups[i], p) })
	return tree, nil
}

// ready makes the outputs of a group, and has the rest of what is measured measured.
func (g *groupRun) ready(x *group, p *track.Pass) error {
	if err := g.unfit(x); err != nil {
		return err
	}
	if g.of(x, 0).DiscFrames != "" {
		p.WholeDiscFrames(g.release.CeilingDBFS)
	}
	for n, part := range p.Parts() {
		x.at = n
		r := g.of(x, n)
		if err := g.makeOutputs(part, by(r, x.chain)); err != nil {
			return err
		}
		if a := g.release.Audibility; a.Measure {
			if err := part.Hear(track.Hearing{LevelDBSPL: a.LevelDBSPL, Aliasing: a.Aliasing}); err != nil {
				return err
			}
		}
		if r.Main == nil { // nobody looks along a delivery
			part.Record(g.release.CeilingDBFS)
		}
		part.Advance = func(n int) { g.tell(Event{Step: Advanced, Render: r, Count: int64(n)}) }
		begun := Event{Step: Begun, Render: r, Count: part.Output().Frames}
		if x.tries.Again() {
			begun.Step = BegunAgain
		}
		g.tell(begun)
	}
	x.at = -1
	return nil
}

// unfit has a group fail by what keeps a render in it from being made of its mix, if something does.
func (g *groupRun) unfit(x *group) error {
	for n, m := range g.members {
		if err := g.release.Unfit(g.of(x, n), m.In.Info().Rate); err != nil {
			x.err, x.at = err, n
			return err
		}
	}
	return nil
}

// blame notes which member an error is of, and is the error without its name.
func (g *groupRun) blame(err error) error {
	var of *track.MemberError
	if errors.As(err, &of) {
		g.at = of.Member
		return of.Err
	}
	return err
}

func (g *groupRun) close() {
	for _, in := range g.inputs {
		in.Close()
	}
	g.inputs, g.members = nil, nil
}

// finishGroup puts the files of all members in their places, unless they break a promise which lower aims may
// keep, or another ceiling is to be tried for their coders: then it lowers them, and there are no entries.
// Entries are those of the group only when all are.
func (g *groupRun) finishGroup(ctx context.Context, x *group, p *track.Pass, shas []string,
	sha string) ([]*ledger.Track, error) {
	whole := p.Entry(g.release.CeilingDBFS)
	if again, err := x.tries.Judge(whole, sha); again || err != nil {
		return nil, err
	}
	joined := make([]ledger.Joined, len(shas))
	for n, sha := range shas {
		joined[n] = ledger.Joined{Track: g.of(x, n).Track, SHA256: sha}
	}
	var entries []*ledger.Track
	var sinks []track.Sink
	for n, part := range p.Parts() {
		r := g.of(x, n)
		entry := part.Entry(g.release.CeilingDBFS)
		entry.Name, entry.Variant, entry.Delivery, entry.Recipe, entry.Continuous = r.Track, r.Variant, r.Delivery,
			fresh.Recipe(g.release, r), joined
		if whole.Whole != nil {
			entry.Whole.AimLoweredDB = whole.Whole.AimLoweredDB
		}
		entries, sinks = append(entries, entry), append(sinks, part.To)
	}
	again, at, err := x.coded.judge(ctx, entries, sinks)
	if again {
		g.begin(x)
	}
	if err != nil {
		x.at = at
	}
	if again || err != nil {
		return nil, err
	}
	for n, part := range p.Parts() {
		x.at = n
		if entries[n], err = g.record(part, g.of(x, n), entries[n], shas[n]); err != nil {
			return nil, err
		}
	}
	x.at = -1
	return entries, nil
}
