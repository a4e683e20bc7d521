package pipeline

import (
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// open opens a file to be read once.
func (e *engine) open(path string) (*track.Input, error) {
	return track.Open(path, e.past.Seen, e.files.open)
}

// makeOutputs starts the files that a render writes.
func (e *engine) makeOutputs(p *track.Pass, r *release.Render) (err error) {
	info := p.Output()
	info.Encoding = r.Encoding
	beside, err := besideOf(r, p)
	if err != nil {
		return err
	}
	if p.To, err = e.make(r.Output, info, beside); err != nil || !e.wantsRemoved(r) {
		return err
	}
	info.Encoding = audiofile.Float32
	to, err := e.make(r.Removed(), info, audiofile.Beside{})
	if err != nil {
		return err
	}
	p.Removed = track.NewRemoved(r.Chain, info.Channels, to)
	return nil
}

// record finishes the files of a render and its ledger entry. The output
// itself comes last: until it is in its place, the old entry is true.
func (e *engine) record(p *track.Pass, r *release.Render, t *ledger.Track,
	sha string) (*ledger.Track, error) {
	t.Source = p.Source(r.SourceAsWritten, sha)
	var line []byte // of the record along the track
	if a := p.Along(r.Track, r.Variant); a != nil {
		var err error
		if line, t.Along, err = a.Line(); err != nil {
			return nil, err
		}
	}
	t.Tags = ledger.TagsOf(r.Tags)
	if r.KeepChunks {
		t.Chunks = "keep"
	}
	p.To.Measured(loudnessOf(t))
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
	t.Output = p.File()
	t.Output.File = fresh.Relative(e.release.Output.Folder, r.Output)
	t.Output.SHA256 = p.To.SHA256()
	t.Output.Encoding = string(r.Encoding)
	t.Output.LimitedSamples = p.Limited()
	if line != nil {
		e.along.Store(t.Along, line)
	}
	e.book(r, t, line)
	return t, nil
}

// wantsRemoved says whether what the chain of a render took away is to be written.
func (e *engine) wantsRemoved(r *release.Render) bool { return e.rules.WantsRemoved(r) }

// newTries begins at the first aims of a render by a chain. The holds that a delivery shares with the render
// that it continues aim as low as there, so that both can be rendered once.
func newTries(r *release.Render, chain []stages.Use) *track.Tries {
	t := track.NewTries(chain, r.Encoding)
	if m := r.Main; m != nil {
		t.Beside(track.NewTries(m.Chain, m.Encoding), m.Begins)
	}
	return t
}
