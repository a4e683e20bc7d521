package survey

import (
	"context"
	"math"
	"slices"
)

// seek runs the chain at values that bring a figure near a goal, or a height of so much above it.
func (q *search) seek(ctx context.Context, f figure, goal, above float64) error {
	ask, near := q.chain, f.near
	if q.hasStandIn {
		ask, near = q.standIn, near/5 // it costs little to come nearer than is asked
	}
	met, err := crossing(q.heights(ctx, ask, f, goal, above), q.from, q.to, near, q.rounded)
	if err != nil || !q.hasStandIn {
		return err
	}
	begin := q.rounded(met[len(met)-1].x)
	return secant(q.heights(ctx, q.chain, f, goal, above), q.runs(f, goal, above), q.rounded, begin,
		slopeAt(met, f.near), f.near)
}

// closeIn runs the chain on both sides of a goal that was not come to.
func (q *search) closeIn(ctx context.Context, f figure, goal float64) error {
	shallow, deep := q.ends()
	return closeIn(q.heights(ctx, q.chain, f, goal, 0), q.runs(f, goal, 0), q.rounded, shallow, deep, f.within)
}

// heights is how far a figure is above a height of so much above a goal, by value.
func (q *search) heights(ctx context.Context, ask func(context.Context, float64) (*Row, error), f figure,
	goal, above float64) func(float64) (float64, error) {
	return func(x float64) (float64, error) {
		row, err := ask(ctx, x)
		if err != nil {
			return 0, err
		}
		return q.above(f, row, goal) - above, nil
	}
}

// ends are the values between which it is looked for, the shallowest first.
func (q *search) ends() (shallow, deep float64) {
	if q.plan.falls {
		return q.to, q.from
	}
	return q.from, q.to
}

// nearest is the run whose figure is nearest to a goal; of several below it the deepest, above it the
// shallowest.
func (q *search) nearest(f figure, goal float64) (found *Row) {
	for _, row := range q.run {
		if found == nil {
			found = row
			continue
		}
		far, least := f.away(row, goal), f.away(found, goal)
		deeper := (row.Value > found.Value) != q.plan.falls
		if far < least || far == least && deeper == (f.height(f.of(row)) <= f.height(&goal)) {
			found = row
		}
	}
	return found
}

// runs are the runs that there have been, as points.
func (q *search) runs(f figure, goal, above float64) (all []point) {
	for x, row := range q.run {
		all = append(all, point{x, q.above(f, row, goal) - above})
	}
	return all
}

// above is how far a figure is above a goal, as heights differ. Above a share of nothing is all that is
// something.
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
