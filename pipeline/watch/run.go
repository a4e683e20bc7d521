package watch

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// run is one render of the release, or of those of its tracks whose mixes had
// settled. It is told how that goes.
type run struct {
	release *release.Release
	options pipeline.Options
	next    func(pipeline.Event) // who else is told; may be nil
	speaker *speaker
	cause   string          // why there is a run, in words
	mixes   map[string]mark // those it renders, as they were seen before
	stopped bool            // it was cancelled because it had become stale
	cancel  context.CancelFunc
	begin   context.Context
	ended   chan outcome

	mu    sync.Mutex
	began map[*release.Render]time.Time
	left  map[string]int // chosen renders of each mix that have not ended
}

// outcome is what a run ended with.
type outcome struct {
	out *pipeline.Outcome
	err error
}

// newRun readies a run of the tracks whose mixes are given.
func newRun(w *watcher, mixes map[string]mark, cause string) *run {
	r := &run{
		release: w.release, options: w.options, next: w.options.Progress, speaker: w.speaker,
		cause: cause, mixes: mixes, ended: make(chan outcome, 1),
		began: map[*release.Render]time.Time{}, left: map[string]int{},
	}
	r.begin, r.cancel = context.WithCancel(context.Background())
	var tracks []string
	all := true
	for _, render := range w.release.Renders {
		if _, ok := mixes[render.Source]; ok {
			tracks = append(tracks, render.Track)
			if r.chosen(&render) {
				r.left[render.Source]++
			}
		} else if w.wantsTrack(render.Track) {
			all = false
		}
	}
	if !all {
		r.options.Tracks = slices.Compact(tracks)
	}
	r.options.Progress = r.hear
	return r
}

// chosen says whether a render of one of the run's tracks is asked for: no other one ends.
func (r *run) chosen(x *release.Render) bool {
	among := func(name string, wanted []string) bool { return len(wanted) == 0 || slices.Contains(wanted, name) }
	return among(x.Variant, r.options.Variants) && among(x.Delivery, r.options.Deliveries)
}

// render does the run, until ctx is cancelled or the run is.
func (r *run) render(ctx context.Context) {
	stop := context.AfterFunc(ctx, r.cancel)
	defer stop()
	out, err := pipeline.RenderRelease(r.begin, r.release, r.options)
	r.ended <- outcome{out, err}
}

// stale says what has happened that makes what the run is making unwanted.
// Mixes whose renders have ended already do not matter: they are next.
func (r *run) stale(w *watcher) string {
	if !w.broken && w.release.Hash != r.release.Hash {
		return filepath.Base(w.path) + " changed"
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for path, was := range r.mixes {
		if r.left[path] > 0 && !same(was, w.mixes[path]) {
			return filepath.Base(path) + " changed"
		}
	}
	return ""
}

// hear notes how the run goes, and hands it on.
func (r *run) hear(e pipeline.Event) {
	var took time.Duration
	switch e.Step {
	case pipeline.Begun:
		r.mu.Lock()
		r.began[e.Render] = time.Now()
		r.mu.Unlock()
	case pipeline.Ended:
		took = r.end(e.Render, e.Result)
	}
	if r.next != nil {
		r.next(e)
	}
	if e.Step == pipeline.Ended {
		r.say(e.Result, took)
	}
}

// end notes that a render has ended, and is how long it took; 0: it had not begun.
func (r *run) end(x *release.Render, result pipeline.Result) (took time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if result.State != pipeline.Interrupted {
		r.left[x.Source]--
	}
	if began, ok := r.began[x]; ok {
		took = time.Since(began)
	}
	return took
}

// say tells what came of a render.
func (r *run) say(x pipeline.Result, took time.Duration) {
	switch x.State {
	case pipeline.Rendered:
		text := ""
		if took > 0 {
			text = fmt.Sprintf(" in %.1f s", took.Seconds())
		}
		r.speaker.say(false, "rendered %s%s: %s%s", x.Label(), text, x.Why, moved(x))
	case pipeline.Failed:
		r.speaker.say(true, "FAILED %v", x.Err)
	}
}

// moved says which figures of the master moved, if there was a master before.
func moved(x pipeline.Result) string {
	if x.Was == nil || x.Is == nil {
		return ""
	}
	if text := ledger.MasterMoved(x.Was, x.Is); text != "" {
		return "; " + text
	}
	return "; no figure moved"
}
