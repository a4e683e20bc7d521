package survey

import (
	"context"
	"sync"

	"ledgerline/pipeline/track"
)

// grid takes each track through all values.
func (w *work) grid(ctx context.Context) ([]Track, []error) {
	n, renders := len(w.plan.values), w.plan.renders
	rows, fails := make([]*Row, n*len(renders)), make([]error, n*len(renders))
	turns := newTurns(w, n)
	w.crew.Each(ctx, all(len(rows)), func(ctx context.Context, i int) {
		r, value := renders[i/n], w.plan.values[i%n]
		turns.begin(i / n)
		defer turns.end(i / n)
		rows[i], fails[i] = track.Protect(r.Label(), func() (*Row, error) { return w.row(ctx, r, value, ifOfUse) })
	})
	tracks, failed := make([]Track, len(renders)), make([]error, len(renders))
	for k, r := range renders {
		t := &tracks[k]
		t.Name, t.Variant, t.values = r.Track, r.Variant, n
		failed[k] = firstOf(fails[k*n : (k+1)*n])
		for _, row := range rows[k*n : (k+1)*n] {
			if row != nil {
				t.Rows = append(t.Rows, *row)
			}
		}
	}
	w.crew.Each(ctx, all(len(renders)), func(ctx context.Context, k int) {
		if failed[k] != nil {
			return
		}
		_, failed[k] = track.Protect(renders[k].Label(), func() (any, error) {
			return nil, w.complete(ctx, &tracks[k])
		})
	})
	return tracks, failed
}

// complete makes the repeats of the first row that fails, if they were left out, until there is nothing left
// out in it, and decides.
func (w *work) complete(ctx context.Context, t *Track) error {
	for {
		at := t.firstFailing(w.plan.falls)
		if at < 0 || !t.Rows[at].Unrepeated {
			t.decide(w.plan.falls)
			return nil
		}
		row, err := w.attempt(ctx, t.Rows[at].left, always)
		if err != nil {
			return err
		}
		t.Rows[at] = *row
	}
}

// turns tell when the first value of a render begins and when its last one ends.
type turns struct {
	*work
	mu    sync.Mutex
	begun []bool
	left  []int
}

func newTurns(w *work, values int) *turns {
	t := &turns{work: w, begun: make([]bool, len(w.plan.renders)), left: make([]int, len(w.plan.renders))}
	for k := range t.left {
		t.left[k] = values
	}
	return t
}

func (t *turns) begin(k int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	r := t.plan.renders[k]
	if !t.begun[k] {
		t.begun[k] = true
		t.tell(Event{Step: Begun, Render: r, Count: int64(t.left[k]) * t.work.mix(r).frames})
	}
}

func (t *turns) end(k int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.left[k]--; t.left[k] == 0 {
		t.tell(Event{Step: Ended, Render: t.plan.renders[k]})
	}
}
