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
// settled. It is the progress of that render too.
type run struct {
	release *release.Release
	options pipeline.Options
	next    pipeline.Progress // who else gets it; may be nil
	speaker *speaker
	cause   string          // why there is a run, in words
	mixes   map[string]mark // those it renders, as they were seen before
	stopped bool            // it was cancelled because it had become stale
	cancel  context.CancelFunc
	begin   context.Context
	ended   chan outcome

	mu    sync.Mutex
	began map[*release.Render]time.Time
	left  map[string]int // renders of each mix that have not ended
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
			r.left[render.Source]++
		} else if w.wantsTrack(render.Track) {
			all = false
		}
	}
	if !all {
		r.options.Tracks = slices.Compact(tracks)
	}
	r.options.Progress = r
	return r
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

// Begin and the other methods make a run the progress of its render.
func (r *run) Begin(renders int) {
	if r.next != nil {
		r.next.Begin(renders)
	}
}

func (r *run) TrackBegin(x *release.Render, frames int64) {
	r.mu.Lock()
	r.began[x] = time.Now()
	r.mu.Unlock()
	if r.next != nil {
		r.next.TrackBegin(x, frames)
	}
}

func (r *run) TrackAdvance(x *release.Render, frames int64) {
	if r.next != nil {
		r.next.TrackAdvance(x, frames)
	}
}

func (r *run) TrackAgain(x *release.Render, frames int64) {
	if r.next != nil {
		r.next.TrackAgain(x, frames)
	}
}

func (r *run) TrackEnd(x *release.Render, result pipeline.Result) {
	r.mu.Lock()
	began := r.began[x]
	if result.State != pipeline.Interrupted {
		r.left[x.Source]--
	}
	r.mu.Unlock()
	if r.next != nil {
		r.next.TrackEnd(x, result)
	}
	switch result.State {
	case pipeline.Rendered:
		took := ""
		if !began.IsZero() {
			took = fmt.Sprintf(" in %.1f s", time.Since(began).Seconds())
		}
		r.speaker.say(false, "rendered %s%s: %s%s", result.Label(), took, result.Why, moved(result))
	case pipeline.Failed:
		r.speaker.say(true, "FAILED %v", result.Err)
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

func (r *run) End() {
	if r.next != nil {
		r.next.End()
	}
}
