package pipeline

import (
	"context"
	"errors"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// groupRun renders tracks that run into each other, as one stream.
type groupRun struct {
	*engine
	group   []int
	at      int // the member at work, by its place in the group; -1: all of them are
	inputs  []*track.Input
	entries []*ledger.Track // new ones, of each member
}

func (g *groupRun) of(n int) *release.Render { return &g.release.Renders[g.group[n]] }

// render renders the group, again with lower aims while a hold's promise is not kept and that
// may help. If it fails, the old masters stay.
func (g *groupRun) render(ctx context.Context) error {
	g.at = -1
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, i := range g.group {
		r := &g.release.Renders[i]
		g.results[i] = Result{Track: r.Track, Variant: r.Variant, State: Rendered, Why: g.whys[i]}
	}
	t := track.NewTries(g.of(0).Chain, g.release.Output.Encoding)
	for {
		done, err := g.once(ctx, t)
		if done || err != nil {
			return err
		}
	}
}

// once renders the group, and reports whether that kept what the holds promise, or all that
// these tries may.
func (g *groupRun) once(ctx context.Context, t *track.Tries) (done bool, err error) {
	defer g.close()
	p, err := g.open(t)
	if err != nil {
		return false, err
	}
	p.Measure(g.release.CeilingDBFS)
	defer p.Abort()
	for n, part := range p.Parts() {
		g.at = n
		r := g.of(n)
		if err := g.makeOutputs(part, r); err != nil {
			return false, err
		}
		if a := g.release.Audibility; a.Measure {
			if err := part.Hear(track.Hearing{LevelDBSPL: a.LevelDBSPL, Aliasing: a.Aliasing}); err != nil {
				return false, err
			}
		}
		part.Advance = func(n int) { g.tell(Event{Step: Advanced, Render: r, Count: int64(n)}) }
		begun := Event{Step: Begun, Render: r, Count: part.Info().Frames}
		if t.Again() {
			begun.Step = BegunAgain
		}
		g.tell(begun)
	}
	g.at = -1
	if err := p.Run(ctx, g.crew); err != nil {
		return false, g.blame(err)
	}
	shas, sha, err := p.Sum(ctx)
	if err != nil {
		return false, g.blame(err)
	}
	whole := p.Entry(g.release.CeilingDBFS)
	if again, err := t.Judge(whole, sha); again || err != nil {
		return false, err
	}
	return true, g.finishAll(p, whole, shas)
}

// open opens the mixes, and readies the pass through them. The noise is that of the first track.
func (g *groupRun) open(t *track.Tries) (*track.Pass, error) {
	var members []track.Member
	for n := range g.group {
		g.at = n
		in, err := g.engine.open(g.of(n).Source)
		if err != nil {
			return nil, err
		}
		g.inputs = append(g.inputs, in)
		if err := g.release.Unfit(g.of(n), in.Info().Rate); err != nil {
			return nil, err
		}
		members = append(members, track.Member{Name: g.of(n).Track, In: in})
	}
	g.at = -1
	p, err := track.NewStream(members, g.of(0).Chain, track.Options{
		Seed: track.Seed(g.of(0).Track), Tries: t, Zeros: g.options.AllowNonFinite, Frames: g.block, LevelDBSPL: g.release.Audibility.LevelDBSPL,
	})
	return p, g.blame(err)
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
	g.inputs = nil
}

// finishAll puts the files of all members in their places. Their entries are those of the
// group only when all are.
func (g *groupRun) finishAll(p *track.Pass, whole *ledger.Track, shas []string) error {
	joined := make([]ledger.Joined, len(shas))
	for n, sha := range shas {
		joined[n] = ledger.Joined{Track: g.of(n).Track, SHA256: sha}
	}
	for n, part := range p.Parts() {
		g.at = n
		r := g.of(n)
		entry := part.Entry(g.release.CeilingDBFS)
		entry.Name, entry.Variant, entry.Recipe, entry.Continuous = r.Track, r.Variant, fresh.Recipe(g.release, r), joined
		if whole.Whole != nil {
			entry.Whole.AimLoweredDB = whole.Whole.AimLoweredDB
		}
		entry, err := g.record(part, r, entry, shas[n])
		if err != nil {
			return err
		}
		g.entries = append(g.entries, entry)
	}
	g.at = -1
	return nil
}
