package survey

import (
	"context"

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
}

// row takes a track down its chain with the setting at a value: again with lower aims while a hold's
// promise is not kept, as a render does.
func (w *work) row(ctx context.Context, r *release.Render, value float64) (*Row, error) {
	chain, err := w.plan.chain(r, value)
	if err != nil {
		return nil, err
	}
	tries := track.NewTries(chain, w.release.Output.Encoding)
	for {
		entry, sha, err := w.once(ctx, r, chain, tries)
		if err != nil {
			return nil, err
		}
		if again, err := tries.Judge(entry, sha); err != nil {
			return nil, err
		} else if !again {
			return newRow(value, entry, sha), nil
		}
	}
}

// once takes a track down a chain, and its audio nowhere.
func (w *work) once(ctx context.Context, r *release.Render, chain []stages.Use, tries *track.Tries) (*ledger.Track, string, error) {
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	in, err := track.Open(r.Source, w.seen, open)
	if err != nil {
		return nil, "", err
	}
	defer in.Close()
	p, err := track.New(in, chain, track.Options{
		Seed: track.Seed(r.Track), Tries: tries, Frames: blockFrames, LevelDBSPL: w.release.Audibility.LevelDBSPL,
	})
	if err != nil {
		return nil, "", err
	}
	p.Measure(w.release.CeilingDBFS)
	if err := p.Hear(track.Hearing{LevelDBSPL: w.release.Audibility.LevelDBSPL}); err != nil {
		return nil, "", err
	}
	p.To = nowhere{}
	if err := p.Run(ctx, w.crew); err != nil {
		return nil, "", err
	}
	sha, err := in.Sum(ctx)
	return p.Entry(w.release.CeilingDBFS), sha, err
}

func newRow(value float64, t *ledger.Track, sha string) *Row {
	end := t.Boundaries[len(t.Boundaries)-1]
	r := &Row{
		Value: value, Whole: t.Whole, LoudnessLUFS: end.LoudnessLUFS, TruePeakDBTP: end.TruePeakDBTP,
		Requirements: t.Requirements, Passed: true, peakTimeS: end.SamplePeakTimeS, sha: sha,
	}
	for _, q := range t.Requirements {
		r.Passed = r.Passed && q.Passed
	}
	return r
}

// open opens a mix. One that could not be had is no interface of a nil pointer.
func open(path string) (track.Source, error) {
	r, err := audiofile.Open(path)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// nowhere is where the audio goes.
type nowhere struct{}

func (nowhere) Write(stages.Block) error { return nil }
func (nowhere) Commit() error            { return nil }
func (nowhere) Abort()                   {}
func (nowhere) Limited() int64           { return 0 }
func (nowhere) SHA256() string           { return "" }
