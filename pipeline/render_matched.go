package pipeline

import (
	"context"
	"fmt"
	"math"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// match writes the copies of the renders of every chosen track at the loudness
// of the quietest of them, so that ears compare sound and not level. All of a
// track are written where one is chosen: a copy means something only beside
// the others.
func (e *engine) match(ctx context.Context, chosen []int) {
	todo, without, gains := e.toMatch(chosen)
	e.unmatch(without)
	e.crew.Each(ctx, todo, func(ctx context.Context, i int) { e.matchOne(ctx, i, gains[i]) })
}

// toMatch are the renders that are to have a copy, the gains of all, and the renders that are to have none.
func (e *engine) toMatch(chosen []int) (todo, without []int, gains []float64) {
	groups := map[string][]int{}
	for i := range e.release.Renders {
		if e.release.Renders[i].Main == nil {
			t := e.release.Renders[i].Track
			groups[t] = append(groups[t], i)
		}
	}
	gains = make([]float64, len(e.release.Renders))
	for _, i := range chosen {
		if e.release.Renders[i].Main != nil {
			continue // a delivery has no copy
		}
		t := e.release.Renders[i].Track
		group := groups[t]
		delete(groups, t) // done once
		if !e.release.Output.MatchLoudness || len(group) < 2 {
			without = append(without, group...)
			continue
		}
		e.matchingGains(group, gains)
		todo = append(todo, group...)
	}
	return todo, without, gains
}

// isMatched says whether the copy of a render is as it is to be.
func (e *engine) isMatched(ctx context.Context, i int, gainDB float64) bool {
	m := e.jobs[i].entry.Matched
	if m == nil || m.GainDB != gainDB {
		return false
	}
	why, err := e.rules.StaleFile(ctx, e.release.Renders[i].Matched(), m.SHA256)
	return why == "" && err == nil
}

// unmatch takes the copies of some renders out of the record.
func (e *engine) unmatch(group []int) {
	for _, i := range group {
		if t := e.jobs[i].entry; t != nil && t.Matched != nil {
			e.amend(i, func(t *ledger.Track) { t.Matched = nil })
		}
	}
}

// matchingGains are the gains in dB, as the ledger rounds them, that bring each
// of a group to the loudness of the quietest. What has no loudness has gain 0.
func (e *engine) matchingGains(group []int, gains []float64) {
	least := math.Inf(1)
	for _, i := range group {
		if l := e.loudness(i); l != nil {
			least = min(least, *l)
		}
	}
	for _, i := range group {
		if l := e.loudness(i); l != nil {
			gains[i] = *ledger.Level(least - *l)
		}
	}
}

// loudness is the integrated loudness of a render's output, nil if there is none.
func (e *engine) loudness(i int) *float64 {
	t := e.jobs[i].entry
	if t == nil || len(t.Boundaries) == 0 {
		return nil
	}
	return t.Boundaries[len(t.Boundaries)-1].LoudnessLUFS
}

// matchOne writes the copy of one render, unless it is there.
func (e *engine) matchOne(ctx context.Context, i int, gainDB float64) {
	r, t := &e.release.Renders[i], e.jobs[i].entry
	if t == nil || ctx.Err() != nil {
		return
	}
	path := r.Matched()
	if !e.options.Force && e.isMatched(ctx, i, gainDB) {
		return
	}
	other := e.rules.Replaced(ctx, path)
	extra, err := track.Protect(r.Label(), func() (*ledger.Extra, error) { return e.copyAt(ctx, r, t, gainDB) })
	if err != nil {
		if e.jobs[i].result.State != Failed { // else it has been told why
			e.fail(ctx, i, fmt.Errorf("matched copy: %w", err))
		}
		return
	}
	e.amend(i, func(t *ledger.Track) { t.Matched = extra })
	e.book(r, e.jobs[i].entry, nil)
	if other != "" {
		e.jobs[i].replaced = r.Label() + ": the matched copy " + other
	}
}

// copyAt writes a render's output at another gain, in the same encoding. Codes
// are dithered: to round them once more would distort.
func (e *engine) copyAt(ctx context.Context, r *release.Render, t *ledger.Track,
	gainDB float64) (*ledger.Extra, error) {
	in, err := e.open(r.Output)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	// Not the noise of the track's own dither, which would add to itself.
	p, err := track.New(in, copyChain(gainDB, in.Info().Encoding), track.Options{
		Seed: ^track.Seed(r.Track), Zeros: e.options.AllowNonFinite, Frames: e.block,
	})
	if err != nil {
		return nil, err
	}
	defer p.Abort()
	path := r.Matched()
	if p.To, err = e.make(path, p.Info(), audiofile.Beside{}); err != nil {
		return nil, err
	}
	if err := p.Run(ctx, e.crew); err != nil {
		return nil, err
	}
	sha, err := in.Sum(ctx)
	if err != nil {
		return nil, err
	}
	if sha != t.Output.SHA256 {
		return nil, fmt.Errorf("%q is not what the ledger records: render it first", r.Output)
	}
	if err := e.announce(path); err != nil {
		return nil, err
	}
	extra, err := e.finishExtra(path, p.To)
	if err != nil {
		return nil, err
	}
	extra.GainDB = gainDB
	return extra, nil
}

// copyChain is the chain that a copy at another gain goes through: none at 0 dB,
// which passes bit for bit.
func copyChain(gainDB float64, encoding audiofile.Encoding) []stages.Use {
	if gainDB == 0 {
		return nil
	}
	chain := []stages.Use{stages.GainBy(gainDB)}
	if bits := encoding.WordBits(); bits > 0 {
		chain = append(chain, stages.DitherTo(bits))
	}
	return chain
}
