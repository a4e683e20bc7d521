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

// mostRuns is how often the chain itself is run for one goal: once where its stand-in leads, and then by the secant.
const mostRuns = 3

// Solved is how near a track came to the target.
type Solved struct {
	Wanted  float64  `json:"wanted"`  // of this track
	Value   float64  `json:"value"`   // at which the figure comes nearest
	Found   *float64 `json:"found"`   // the figure there; null: it does not exist
	Reached bool     `json:"reached"` // near enough
	// Where the value fails a requirement: the figure at the answer, the nearest that keeps them all. Missing: there is none.
	Within *float64 `json:"within,omitempty"`

	from, to float64 // between which it was looked for
}

// A search is one render's for what is wanted of it.
type search struct {
	*work
	render   *release.Render
	from, to float64
	stands   bool             // there is a stand-in for the chain
	asked    map[float64]*Row // of the stand-in, by value
	run      map[float64]*Row // of the chain, by value
}

// targets solves for the target of each render.
func (w *work) targets(ctx context.Context, s *Survey) ([]Track, []error) {
	renders := w.plan.renders
	searches := make([]*search, len(renders))
	for k, r := range renders {
		from, to := w.plan.bracket(r)
		_, stands := w.plan.standIn(r.Chain)
		searches[k] = &search{work: w, render: r, from: from, to: to, stands: stands, asked: map[float64]*Row{}, run: map[float64]*Row{}}
	}
	tracks, fails := w.solveAll(ctx, searches, 0)
	if by := w.missing(tracks); s.Target.Level && by > 0 && ctx.Err() == nil && firstOf(fails) == nil {
		s.Notes = append(s.Notes, fmt.Sprintf("the requirements leave %s out of reach: all tracks are %s LU lower, so that they keep their distance",
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

// missing is how much the answers fall short of what was wanted, at most, in the target's unit; 0: by no more than the tolerance.
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

// solve finds the value at which the figure is what is wanted, and where that fails requirements the nearest that does not.
func (q *search) solve(ctx context.Context, t *Track, goal float64) error {
	f := q.plan.target.figure
	best, err := q.seek(ctx, f, goal, 0)
	if err != nil {
		return err
	}
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
	for range mostRuns {
		at := slices.IndexFunc(failing.failed(), func(r ledger.Requirement) bool {
			_, ok := figureFor(r.Key)
			return ok
		})
		if at < 0 {
			return nil, nil
		}
		limit := failing.failed()[at]
		f, _ := figureFor(limit.Key)
		if _, err := q.seek(ctx, f, limit.Wanted, -f.within*below); err != nil {
			return nil, err
		}
		if row := q.deepest(); row != nil {
			return row, nil
		}
		failing, below = q.shallowest(), 4*below
	}
	return nil, nil
}

// seek runs the chain at values that bring a figure near a goal, or a height of so much above it, and is the nearest run.
func (q *search) seek(ctx context.Context, f figure, goal, above float64) (*Row, error) {
	height := func(ask func(context.Context, float64) (*Row, error)) func(float64) (float64, error) {
		return func(x float64) (float64, error) {
			row, err := ask(ctx, x)
			if err != nil {
				return 0, err
			}
			return q.above(f, row, goal) - above, nil
		}
	}
	ask, near := q.chain, f.near
	if q.stands {
		ask, near = q.standIn, near/5 // it costs little to come nearer than is asked
	}
	met, err := crossing(height(ask), q.from, q.to, near, q.rounded)
	if err != nil {
		return nil, err
	}
	begin := met[len(met)-1].x
	if !q.stands {
		return q.run[begin], nil
	}
	x, err := secant(height(q.chain), q.runs(f, goal, above), q.rounded, q.rounded(begin), slopeAt(met, f.near), f.near)
	return q.run[x], err
}

// runs are the runs that there have been, as points.
func (q *search) runs(f figure, goal, above float64) (all []point) {
	for x, row := range q.run {
		all = append(all, point{x, q.above(f, row, goal) - above})
	}
	return all
}

// above is how far a figure is above a goal, as heights differ. Above a share of nothing is all that is something.
func (q *search) above(f figure, row *Row, goal float64) float64 {
	if x := f.of(row); f.share && goal < leastShare {
		if x != nil && *x > goal {
			return 1
		}
		return -1
	}
	return f.height(f.of(row)) - f.height(&goal)
}

// finest is by how much values are told apart: by a hundredth, in a short range by a thousandth.
func (q *search) finest() float64 {
	if q.to-q.from < 2 {
		return 1e-3
	}
	return 1e-2
}

// rounded is a value as one would write it, in the range.
func (q *search) rounded(x float64) float64 {
	per := math.Round(1 / q.finest())
	return min(max(math.Round(x*per)/per+0, q.from), q.to)
}

func (q *search) standIn(ctx context.Context, value float64) (*Row, error) {
	return recall(q.asked, value, func() (*Row, error) { return q.stand(ctx, q.render, value) })
}

func (q *search) chain(ctx context.Context, value float64) (*Row, error) {
	return recall(q.run, value, func() (*Row, error) { return q.row(ctx, q.render, value, always) })
}

func recall(rows map[float64]*Row, value float64, run func() (*Row, error)) (*Row, error) {
	if row, ok := rows[value]; ok {
		return row, nil
	}
	row, err := run()
	if err == nil {
		rows[value] = row
	}
	return row, err
}

// known gives a track what was run.
func (q *search) known(t *Track) {
	for _, row := range q.run {
		t.Rows = append(t.Rows, *row)
	}
	slices.SortFunc(t.Rows, func(a, b Row) int { return sign(a.Value - b.Value) })
	t.values = len(t.Rows)
}

func sign(x float64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// deepest is the run that keeps every requirement and has the most of the target's figure; nil: none does.
func (q *search) deepest() (found *Row) {
	f := q.plan.target.figure
	for _, row := range q.run {
		if row.Passed && (found == nil || f.height(f.of(row)) > f.height(f.of(found))) {
			found = row
		}
	}
	return found
}

// shallowest is the run that has the least of it.
func (q *search) shallowest() (found *Row) {
	f := q.plan.target.figure
	for _, row := range q.run {
		if found == nil || f.height(f.of(row)) < f.height(f.of(found)) {
			found = row
		}
	}
	return found
}
