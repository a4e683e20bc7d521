package pipeline

import (
	"context"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// render renders one render of the release, again with lower aims while a hold's promise is
// not kept and that may help, and is its ledger entry. What comes out depends on the mix and the
// chain alone. If it fails, the output folder is as it was.
func (e *engine) render(ctx context.Context, r *release.Render) (*ledger.Track, error) {
	t := track.NewTries(r.Chain, e.release.Output.Encoding)
	for {
		entry, err := e.renderOnce(ctx, r, t)
		if entry != nil || err != nil {
			return entry, err
		}
	}
}

// renderOnce renders one render of the release and is its ledger entry, unless that
// breaks a promise which aims lower than these may keep: then it lowers them, leaves no
// file, and the entry is nil. If it fails, the output folder is as it was.
func (e *engine) renderOnce(ctx context.Context, r *release.Render, t *track.Tries) (*ledger.Track, error) {
	in, err := e.open(r.Source)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	if err := e.release.Unfit(r, in.Info().Rate); err != nil {
		return nil, err
	}
	p, err := track.New(in, r.Chain, track.Options{
		Seed: track.Seed(r.Track), Tries: t, Zeros: e.options.AllowNonFinite, Frames: e.block, LevelDBSPL: e.release.Audibility.LevelDBSPL,
	})
	if err != nil {
		return nil, err
	}
	p.Measure(e.release.CeilingDBFS)
	if a := e.release.Audibility; a.Measure {
		if err := p.Hear(track.Hearing{LevelDBSPL: a.LevelDBSPL, Aliasing: a.Aliasing}); err != nil {
			return nil, err
		}
	}
	p.Advance = func(n int) { e.tell(Event{Step: Advanced, Render: r, Count: int64(n)}) }
	defer p.Abort()
	if err := e.makeOutputs(p, r); err != nil {
		return nil, err
	}
	begun := Event{Step: Begun, Render: r, Count: p.Info().Frames}
	if t.Again() {
		begun.Step = BegunAgain
	}
	e.tell(begun)
	if err := p.Run(ctx, e.crew); err != nil {
		return nil, err
	}
	sha, err := in.Sum(ctx)
	if err != nil {
		return nil, err
	}
	entry := p.Entry(e.release.CeilingDBFS)
	entry.Name, entry.Variant, entry.Recipe = r.Track, r.Variant, fresh.Recipe(e.release, r)
	if again, err := t.Judge(entry, sha); again || err != nil {
		return nil, err
	}
	return e.record(p, r, entry, sha)
}

// open opens a file to be read once.
func (e *engine) open(path string) (*track.Input, error) {
	return track.Open(path, e.past.Seen, e.files.open)
}

// makeOutputs starts the files that a render writes.
func (e *engine) makeOutputs(p *track.Pass, r *release.Render) (err error) {
	info := p.Info()
	info.Encoding = e.release.Output.Encoding
	if p.To, err = e.make(r.Output, info); err != nil || !e.wantsRemoved() {
		return err
	}
	info.Encoding = audiofile.Float32
	to, err := e.make(r.Removed(), info)
	if err != nil {
		return err
	}
	p.Removed = track.NewRemoved(r.Chain, info.Channels, to)
	return nil
}

// record finishes the files of a render and its ledger entry. The output
// itself comes last: until it is in its place, the old entry is true.
func (e *engine) record(p *track.Pass, r *release.Render, t *ledger.Track, sha string) (*ledger.Track, error) {
	t.Source = p.Source(r.SourceAsWritten, sha)
	files := []string{r.Output}
	if p.Removed != nil {
		files = []string{r.Removed(), r.Output}
	}
	if err := e.announce(files...); err != nil {
		return nil, err
	}
	if p.Removed != nil {
		extra, err := e.finishExtra(r.Removed(), p.Removed.To)
		if err != nil {
			return nil, err
		}
		extra.GainDB = p.Removed.GainDB
		t.Removed = extra
	}
	if err := e.finish(r.Output, p.To); err != nil {
		return nil, err
	}
	t.Output = ledger.Output{
		File:           fresh.Relative(e.release.Output.Folder, r.Output),
		SHA256:         p.To.SHA256(),
		Encoding:       string(e.release.Output.Encoding),
		LimitedSamples: p.To.Limited(),
	}
	e.book(r, t)
	return t, nil
}

// wantsRemoved says whether what the chains took away is to be written.
func (e *engine) wantsRemoved() bool { return e.options.Removed || e.release.Output.Removed }
