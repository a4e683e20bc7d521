package survey

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// mostRuns is how often the chain itself is run for one goal at first: once where its stand-in leads, and
// then by the secant.
const mostRuns = 3

// Solved is how near a track came to the target.
type Solved struct {
	Wanted  float64  `json:"wanted"`  // of this track
	Value   float64  `json:"value"`   // at which the figure comes nearest
	Found   *float64 `json:"found"`   // the figure there; null: it does not exist
	Reached bool     `json:"reached"` // near enough
	// Where the value fails a requirement: the figure at the answer, the nearest that keeps them all. Missing:
	// there is none.
	Within *float64 `json:"within,omitempty"`

	from, to float64 // between which it was looked for
}

// A search is one render's for what is wanted of it.
type search struct {
	*work
	render     *release.Render
	from, to   float64
	hasStandIn bool             // there is a stand-in for the chain
	asked      map[float64]*Row // of the stand-in, by value
	run        map[float64]*Row // of the chain, by value
}

// targets solves for the target of each render.
func (w *work) targets(ctx context.Context, s *Survey) ([]Track, []error) {
	renders := w.plan.renders
	searches := make([]*search, len(renders))
	for k, r := range renders {
		from, to := w.plan.bracket(r)
		_, found := w.plan.standIn(r.Chain)
		searches[k] = &search{
			work: w, render: r, from: from, to: to, hasStandIn: found,
			asked: map[float64]*Row{}, run: map[float64]*Row{},
		}
	}
	tracks, fails := w.solveAll(ctx, searches, 0)
	if by := w.missing(tracks); s.Target.Level && by > 0 && ctx.Err() == nil && firstOf(fails) == nil {
		s.Notes = append(s.Notes,
			fmt.Sprintf("the requirements leave %s out of reach: all tracks are %s LU lower, so that they keep "+
				"their distance",
				s.Target.figure.text(&s.Target.Wanted), figureText(&by)))
		s.Target.LoweredLU = by
		tracks, fails = w.solveAll(ctx, searches, by)
	}
	return tracks, fails
}

// solveAll solves for each render, so much lower than wanted.
func (w *work) solveAll(ctx context.Context, searches []*search, lower float64) ([]Track, []error) {
	tracks, fails := make([]Track, len(searches)), make([]error, len(searches))
	w.crew.Each(ctx, all(len(searches)), func(ctx context.Context, k int) {
		q := searches[k]
		w.tell(Event{Step: Begun, Render: q.render, Count: mostRuns * w.mix(q.render).frames})
		defer w.tell(Event{Step: Ended, Render: q.render})
		t := &tracks[k]
		t.Name, t.Variant = q.render.Track, q.render.Variant
		_, fails[k] = track.Protect(q.render.Label(), func() (any, error) {
			goal, err := w.goal(q.render, lower)
			if err == nil {
				err = q.solve(ctx, t, goal)
			}
			return nil, err
		})
		q.known(t)
	})
	return tracks, fails
}

// goal is what is wanted of a render.
func (w *work) goal(r *release.Render, lower float64) (float64, error) {
	target := w.plan.target
	if err := w.mix(r).err; err != nil || !target.Level {
		return target.Wanted, err
	}
	loudest := math.Inf(-1)
	for _, m := range w.mixes {
		if m.loudness != nil {
			loudest = max(loudest, *m.loudness)
		}
	}
	own := w.mix(r).loudness
	if own == nil {
		return 0, errors.New("the mix has no loudness that a level could be set by")
	}
	return math.Round((target.Wanted-lower-(loudest-*own))*100) / 100, nil
}

// missing is how much the answers fall short of what was wanted, at most, in the target's unit; 0: by no more
// than the tolerance.
func (w *work) missing(tracks []Track) float64 {
	most := 0.0
	for _, t := range tracks {
		if t.Solved == nil {
			continue
		}
		found := t.Solved.Found
		if t.Solved.Within != nil {
			found = t.Solved.Within
		}
		if found != nil {
			most = max(most, t.Solved.Wanted-*found)
		}
	}
	if most <= w.plan.target.figure.within {
		return 0
	}
	return math.Ceil(most*100) / 100
}

// solve finds the value at which the figure is what is wanted, and where that fails requirements the nearest
// that does not.
func (q *search) solve(ctx context.Context, t *Track, goal float64) error {
	f := q.plan.target.figure
	err := q.seek(ctx, f, goal, 0)
	if err == nil {
		err = q.closeIn(ctx, f, goal)
	}
	if err != nil {
		return err
	}
	best := q.nearest(f, goal)
	t.Solved = &Solved{
		Wanted: goal, Value: best.Value, Found: f.of(best), Reached: math.Abs(q.above(f, best, goal)) <= f.within,
		from: q.from, to: q.to,
	}
	if best.Passed {
		if t.Solved.Reached {
			t.Answer = &best.Value
		}
		return nil
	}
	t.FirstFailure = best.failure()
	row, err := q.permitted(ctx, best)
	if row != nil {
		t.Answer, t.Solved.Within = &row.Value, f.of(row)
	}
	return err
}

// permitted is the deepest value before one that fails at which no requirement does; nil: none was found.
func (q *search) permitted(ctx context.Context, failing *Row) (*Row, error) {
	below := 0.5 // of the tolerance, that the limit is not met by a hair
	for run := range mostRuns {
		at := slices.IndexFunc(failing.failed(), func(r ledger.Requirement) bool {
			_, ok := figureFor(r.Key)
			return ok
		})
		if at < 0 {
			return nil, nil
		}
		limit := failing.failed()[at]
		f, _ := figureFor(limit.Key)
		err := q.seek(ctx, f, limit.Wanted, -f.within*below)
		if err == nil && run == mostRuns-1 && q.deepest() == nil {
			err = q.closeIn(ctx, f, limit.Wanted)
		}
		if err != nil {
			return nil, err
		}
		if row := q.deepest(); row != nil {
			return row, nil
		}
		failing, below = q.shallowest(), 4*below
	}
	return nil, nil
}
