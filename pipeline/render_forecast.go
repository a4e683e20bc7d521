package pipeline

import (
	"context"
	"fmt"
	"io"
	"slices"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// Forecast tells of every chosen render whether it is up to date: Kept, or
// Stale and why, or Failed where that cannot be found out or where a foreign
// file is in the way (*ForeignError). It changes nothing, and waits for no other
// process. An error is as RenderRelease's.
func Forecast(ctx context.Context, r *release.Release, o Options) (*Outcome, error) {
	chosen, err := choose(r, o)
	if err != nil {
		return nil, err
	}
	if err := fits(r); err != nil {
		return nil, err
	}
	if err := oddBeside(r); err != nil {
		return nil, err
	}
	past := fresh.Glance(ctx, r.Output.Folder, o.Brief)
	if out := aheadOf(r, o, past).forecastInBrief(ctx, chosen); out != nil {
		return out, ctx.Err()
	}
	if err := past.Read(o.Force); err != nil {
		return nil, err
	}
	e := aheadOf(r, o, past)
	results := e.forecasts(ctx, chosen)
	out := &Outcome{
		Papers: e.forecastPapers(results), Ledger: past.Ledger, Results: results, Notes: past.Notes(o.Part),
		Left: e.countLeft(ctx),
	}
	return out, ctx.Err()
}

// aheadOf is an engine that renders nothing.
func aheadOf(r *release.Release, o Options, past *fresh.Past) *engine {
	e := newEngine(r, o, onDisk, past)
	e.ahead = true
	return e
}

func (e *engine) forecasts(ctx context.Context, chosen []int) []Result {
	results := make([]Result, len(chosen))
	at := make(map[int]*Result, len(chosen))
	for n, i := range chosen {
		at[i] = &results[n]
	}
	e.crew.Each(ctx, chosen, func(ctx context.Context, i int) { *at[i] = e.forecast(ctx, i) })
	for _, i := range chosen {
		if e.firstOf(i) == i {
			e.standTogether(e.jobs[i].group, at)
		}
	}
	return results
}

func (e *engine) forecast(ctx context.Context, i int) Result {
	r := &e.release.Renders[i]
	res := Result{Track: r.Track, Variant: r.Variant, Delivery: r.Delivery, State: Kept}
	why, err := e.rules.Stale(ctx, r, e.jobs[i].entry)
	switch {
	case err != nil:
		res.State, res.Err = Failed, fmt.Errorf("%s: %w", r.Label(), err)
	case why != "":
		res.State, res.Why = Stale, why
		first := i == 0 || e.release.Renders[i-1].Source != r.Source // of those that share a mix
		res.Silent = first && e.hasOnlyZeros(ctx, r.Source)
	default:
		res.Silent = silentMix(e.jobs[i].entry)
	}
	if err := e.foresee(r); err != nil { // also where a folder in the way was not to be read
		res.State, res.Err = Failed, fmt.Errorf("%s: %w", r.Label(), err)
	}
	if err := e.works(r); err != nil && res.State != Failed {
		res.State, res.Err = Failed, fmt.Errorf("%s: %w", r.Label(), err)
	}
	return res
}

// hasOnlyZeros reports whether a mix has frames and all its samples are zero. It reads no further than to the
// first that is not. A mix that cannot be read is told of elsewhere.
func (e *engine) hasOnlyZeros(ctx context.Context, path string) bool {
	f, err := e.files.open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	block := stages.NewBlock(f.Info().Channels, 4096)
	for frames := 0; ; {
		n, err := f.Read(block)
		if err == io.EOF {
			return frames > 0
		}
		if err != nil || ctx.Err() != nil {
			return false
		}
		for _, x := range block {
			if slices.ContainsFunc(x[:n], func(v float64) bool { return v != 0 }) {
				return false
			}
		}
		frames += n
	}
}

// works fails if a stage does not work at the rate of the mix, or the output cannot have its channels. A mix
// that cannot be opened is told of elsewhere.
func (e *engine) works(r *release.Render) error {
	if r.Container != audiofile.FLAC && !slices.ContainsFunc(r.Chain, func(use stages.Use) bool {
		return use.Of().AtRate != nil
	}) {
		return nil
	}
	f, err := e.files.open(r.Source)
	if err != nil {
		return nil
	}
	defer f.Close()
	if err := track.Fits(f.Info().Channels, r.Container); err != nil {
		return err
	}
	return track.Works(f.Info().Rate, r.Chain)
}
