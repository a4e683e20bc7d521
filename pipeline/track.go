package pipeline

import (
	"context"
	"fmt"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// A pass takes one audio file down a chain of stages into another file, with
// or without a meter at every boundary.
type pass struct {
	from    *input
	info    audiofile.Info // of the file read
	chain   []link
	meters  []*meter.Meter // meters[k] reads boundary k, and may read k-1 too; none: nothing is read
	pairs   []pair         // pairs[k] says which meter that of boundary k follows or leads
	to      sink
	cuts    []*removal       // of each stage that cuts, nil for the others; none: nothing is measured
	whole   *removal         // of the whole chain; nil with them
	taken   *taken           // also writes what the chain took away; nil: not asked for
	odd     nonFinite        // samples of the file that are NaN or infinite
	advance func(frames int) // told of what has been written; nil: nobody is
	frames  int              // read at once
}

// renderOnce renders one render of the release and is its ledger entry, unless that
// breaks a promise which aims lower than these may keep: then it lowers them, leaves no
// file, and the entry is nil. If it fails, the output folder is as it was.
func (e *engine) renderOnce(ctx context.Context, r *release.Render, t *tries) (*ledger.Track, error) {
	in, err := e.openInput(r.Source)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	p, err := e.newPass(in, r.Chain, trackSeed(r.Track), t.aims)
	if err != nil {
		return nil, err
	}
	p.setMeters(r, e.release.CeilingDBFS)
	p.setRemovals(r.Chain)
	p.advance = func(n int) { e.options.Progress.TrackAdvance(r, int64(n)) }
	defer p.abort()
	if err := e.makeOutputs(p, r); err != nil {
		return nil, err
	}
	t.begin(e.options.Progress, r, p.info.Frames)
	if err := e.drive(ctx, p); err != nil {
		return nil, err
	}
	sha, err := in.sum(ctx, e.seen)
	if err != nil {
		return nil, err
	}
	entry := p.entry(e.release, r)
	if again, err := t.judge(entry, sha); again || err != nil {
		return nil, err
	}
	return e.record(p, r, entry, sha)
}

// newPass readies a pass through a chain, without meters and without outputs. The aims are
// those of its holds; nil: their ceilings.
func (e *engine) newPass(in *input, chain []stages.Use, seed uint64, holds aims) (*pass, error) {
	p := &pass{from: in, info: in.Info(), frames: e.block}
	p.odd = nonFinite{zeros: e.options.AllowNonFinite, rate: p.info.Rate}
	f := stages.Format{Rate: p.info.Rate, Channels: p.info.Channels, Seed: seed}
	for k, use := range chain {
		f.AimLowerDB = holds.lowerDB(k)
		l, err := newLink(use, f)
		if err != nil {
			return nil, fmt.Errorf("stage %q: %w", use.Name, err)
		}
		p.chain = append(p.chain, l)
	}
	return p, nil
}

// setMeters puts a meter at every boundary of a render.
func (p *pass) setMeters(r *release.Render, ceilingDBFS float64) {
	weights := meter.Weights(p.info.Channels, p.info.Mask)
	for k := range len(r.Chain) + 1 {
		// A measure passes on what it gets, and the ceiling in force with it. Only
		// before the first stage may the two differ, by samples that are not finite.
		if k > 1 && r.Chain[k-1].Kind == measureKind {
			p.meters = append(p.meters, p.meters[k-1])
			continue
		}
		p.meters = append(p.meters, meter.New(meter.Options{
			Rate:    p.info.Rate,
			Weights: weights,
			Ceiling: stages.Linear(ceilingAt(k, r.Chain, ceilingDBFS)),
		}))
	}
	p.pairMeters(r.Chain)
}

// makeOutputs starts the files that a render writes.
func (e *engine) makeOutputs(p *pass, r *release.Render) (err error) {
	info := p.info
	info.Encoding = e.release.Output.Encoding
	if p.to, err = e.make(r.Output, info); err != nil || !e.wantsTaken() {
		return err
	}
	info.Encoding = audiofile.Float32
	to, err := e.make(r.Removed(), info)
	if err != nil {
		return err
	}
	p.taken = newTaken(r.Chain, info.Channels, to)
	return nil
}

// abort leaves nothing of the files that are not finished.
func (p *pass) abort() {
	if p.to != nil {
		p.to.Abort()
	}
	if p.taken != nil {
		p.taken.to.Abort()
	}
}

// record finishes the files of a render and its ledger entry. The output
// itself comes last: until it is in its place, the old entry is true.
func (e *engine) record(p *pass, r *release.Render, t *ledger.Track, sha string) (*ledger.Track, error) {
	t.Source = p.sourceOf(r, sha)
	if err := e.announce(p.outputsOf(r)...); err != nil {
		return nil, err
	}
	if p.taken != nil {
		extra, err := e.finishExtra(r.Removed(), p.taken.to)
		if err != nil {
			return nil, err
		}
		extra.GainDB = p.taken.gainDB
		t.Removed = extra
	}
	if err := e.finish(r.Output, p.to); err != nil {
		return nil, err
	}
	t.Output = ledger.Output{
		File:           relative(e.release.Output.Folder, r.Output),
		SHA256:         p.to.SHA256(),
		Encoding:       string(e.release.Output.Encoding),
		LimitedSamples: p.to.Limited(),
	}
	e.book(r, t)
	return t, nil
}

// outputsOf are the files that a pass writes of a render.
func (p *pass) outputsOf(r *release.Render) []string {
	if p.taken == nil {
		return []string{r.Output}
	}
	return []string{r.Removed(), r.Output}
}

// drive takes the whole file down the chain. The caller holds a token.
func (e *engine) drive(ctx context.Context, p *pass) error {
	space := <-e.spaces
	defer func() { e.spaces <- space }()
	batches := 1
	if e.jobs > 1 {
		batches = batchesInWork
	}
	return p.lanes(space.fit(batches, len(p.chain)+1, p.info.Channels), e.tokens).run(ctx)
}

// batchesInWork is how many batches of a track may be in work where several
// processors may be at work on it. With fewer, they wait for each other.
const batchesInWork = 4

// measureKind is the kind of stage that only requires something of a reading.
const measureKind = "measure"

// ceilingAt is the ceiling in force at boundary k of a chain, in dBFS: that of
// the last stage before it that has one, or else the release's.
func ceilingAt(k int, chain []stages.Use, release float64) float64 {
	for k--; k >= 0; k-- {
		if db, ok := chain[k].Settings.CeilingDBFS(); ok {
			return db
		}
	}
	return release
}
