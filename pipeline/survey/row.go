package survey

import (
	"context"
	"fmt"
	"sync"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// blockFrames is how many frames are read at once, as a render does.
const blockFrames = 4096

// work is a survey at work.
type work struct {
	release *release.Release
	plan    *plan
	seen    *fresh.Seen
	crew    *track.Crew
	tell    func(Event)

	mu    sync.Mutex
	mixes map[*release.Render]*mix
}

// A mix is what of a render does not depend on the value.
type mix struct {
	pass     *track.Pass // through no stage
	sha      string
	loudness *float64 // LUFS; nil: nothing passes the gates
	frames   int64
	err      error
}

// Repeats with lower aims, until a chain's holds keep their promises, are made as a render makes them, or
// only where they may decide anything: not of a value that fails whatever they do.
const (
	always = iota
	ifOfUse
)

// row takes a track down its chain with the setting at a value, as a render does.
func (w *work) row(ctx context.Context, r *release.Render, value float64, repeats int) (*Row, error) {
	chain, err := w.plan.chain(r, value)
	if err != nil {
		return nil, err
	}
	q := &attempt{render: r, value: value, chain: chain, aliased: map[string]*ledger.Audibility{}}
	q.tries = track.NewTries(chain, w.release.Output.Encoding)
	return w.attempt(ctx, q, repeats)
}

// An attempt is a row in the making, which its last pass left unfinished.
type attempt struct {
	render  *release.Render
	value   float64
	chain   []stages.Use
	tries   *track.Tries
	aliased map[string]*ledger.Audibility // by stage
}

// attempt makes the passes that an attempt still needs.
func (w *work) attempt(ctx context.Context, q *attempt, repeats int) (*Row, error) {
	for {
		p := passing{render: q.render, chain: q.chain, tries: q.tries}
		if q.tries.Again() {
			p.aliasFrom = q.tries.FirstHold()
		} else {
			p.advance = func(n int) { w.tell(Event{Step: Advanced, Render: q.render, Count: int64(n)}) }
		}
		entry, sha, err := w.once(ctx, p)
		if err != nil {
			return nil, err
		}
		for _, s := range entry.Stages {
			if s.Audibility != nil {
				q.aliased[s.Stage] = s.Audibility
			}
		}
		again, err := q.tries.Judge(entry, sha)
		if err != nil {
			return nil, err
		}
		if again && (repeats == always || !hopeless(entry.Requirements)) {
			continue
		}
		row := newRow(q.value, entry, sha, q.aliased)
		if again {
			row.Unrepeated, row.left = true, q
		}
		return row, nil
	}
}

// hopeless says whether requirements fail that lower aims of holds would not meet.
func hopeless(all []ledger.Requirement) bool {
	for _, q := range all {
		if _, ok := figureFor(q.Key); ok && !q.Passed {
			return true
		}
	}
	return false
}

// passing is one pass.
type passing struct {
	render    *release.Render
	chain     []stages.Use
	tries     *track.Tries // nil: it is no render's chain
	aliasFrom int          // from which stage on what aliases is heard
	advance   func(frames int)
}

// once takes a track down a chain, and its audio nowhere.
func (w *work) once(ctx context.Context, o passing) (*ledger.Track, string, error) {
	m := w.mix(o.render)
	if m.err != nil {
		return nil, "", m.err
	}
	var entry *ledger.Track
	sha, err := w.pass(ctx, o, func(p *track.Pass) error {
		p.Brief(m.pass, o.tries)
		p.Measure(w.release.CeilingDBFS)
		return p.Hear(track.Hearing{
			LevelDBSPL: w.release.Audibility.LevelDBSPL, Aliasing: o.tries != nil, AliasFrom: o.aliasFrom,
		})
	}, func(p *track.Pass) {
		w.mu.Lock() // the mix's meter serves all
		defer w.mu.Unlock()
		entry = p.Entry(w.release.CeilingDBFS)
	})
	if err == nil && sha != m.sha {
		err = fmt.Errorf("the mix was changed while it was being surveyed")
	}
	return entry, sha, err
}

// pass readies a pass, runs it, and has it read.
func (w *work) pass(ctx context.Context, o passing, ready func(*track.Pass) error,
	read func(*track.Pass)) (string, error) {
	if err := ctx.Err(); err != nil {
		return "", err
	}
	in, err := track.Open(o.render.Source, w.seen, open)
	if err != nil {
		return "", err
	}
	defer in.Close()
	p, err := track.New(in, o.chain, track.Options{
		Seed: track.Seed(o.render.Track), Tries: o.tries, Frames: blockFrames,
		LevelDBSPL: w.release.Audibility.LevelDBSPL,
	})
	if err != nil {
		return "", err
	}
	if err := ready(p); err != nil {
		return "", err
	}
	p.To, p.Advance = nowhere{}, o.advance
	if err := p.Run(ctx, w.crew); err != nil {
		return "", err
	}
	sha, err := in.Sum(ctx)
	if err == nil {
		read(p)
	}
	return sha, err
}

// read reads a render's mix.
func (w *work) read(ctx context.Context, r *release.Render) *mix {
	m := &mix{}
	m.sha, m.err = w.pass(ctx, passing{render: r}, func(p *track.Pass) error {
		m.pass = p
		p.ReadMixFor(r.Chain)
		p.Measure(w.release.CeilingDBFS)
		return nil
	}, func(p *track.Pass) {
		m.loudness, m.frames = p.Entry(w.release.CeilingDBFS).Boundaries[0].LoudnessLUFS, p.Info().Frames
	})
	return m
}

// mix is a render's, once it has been read.
func (w *work) mix(r *release.Render) *mix {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.mixes[r]
}

func newRow(value float64, t *ledger.Track, sha string, aliased map[string]*ledger.Audibility) *Row {
	end := t.Boundaries[len(t.Boundaries)-1]
	r := &Row{
		Value: value, Whole: t.Whole, LoudnessLUFS: end.LoudnessLUFS, TruePeakDBTP: end.TruePeakDBTP,
		Requirements: t.Requirements, Passed: true, peakTimeS: end.SamplePeakTimeS, sha: sha,
	}
	for _, q := range t.Requirements {
		r.Passed = r.Passed && q.Passed
	}
	for _, a := range aliased {
		r.AliasingToMaskDB = higher(r.AliasingToMaskDB, a.AliasingToMaskDB)
		r.AliasingDisturbedPercent = higher(r.AliasingDisturbedPercent, a.AliasingDisturbedPercent)
	}
	return r
}

// higher is the higher of two figures that may not exist.
func higher(a, b *float64) *float64 {
	if a == nil || b != nil && *b > *a {
		return b
	}
	return a
}

// open opens a mix. One that could not be had is no interface of a nil pointer.
func open(path string) (track.AudioFile, error) {
	r, err := audiofile.Open(path)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// nowhere is where the audio goes.
type nowhere struct{}

func (nowhere) Write(stages.Block) error    { return nil }
func (nowhere) Commit() error               { return nil }
func (nowhere) Abort()                      {}
func (nowhere) Limited() int64              { return 0 }
func (nowhere) SHA256() string              { return "" }
func (nowhere) Finish() (string, error)     { return "", nil }
func (nowhere) Measured(audiofile.Loudness) {}
