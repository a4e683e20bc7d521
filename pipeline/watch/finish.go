package watch

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/release"
)

// stopIfStale cancels the run under way if its result is no longer wanted.
func (w *watcher) stopIfStale() {
	r := w.running
	if r.stopped {
		return
	}
	if why := r.stale(w); why != "" {
		r.stopped = true
		w.speaker.say(false, "%s during the render: starting again", why)
		r.cancel()
	}
}

// finish records what a run has done and reports its outcome.
func (w *watcher) finish(o outcome) {
	r := w.running
	w.running = nil
	r.cancel()
	if o.out != nil {
		w.keep(r, o.out)
	}
	switch {
	case errors.Is(o.err, context.Canceled):
		return
	case o.err != nil:
		w.postpone(o.err)
		return
	case len(o.out.Unwritten) > 0: // tried again, as a render is not before its mix changes
		w.postpone(unwritten(o.out))
		return
	}
	other := w.rendered != r.release
	w.trouble, w.rendered = "", r.release
	w.tell(r, o.out)
	if other || slices.ContainsFunc(o.out.Results, func(x pipeline.Result) bool {
		return x.State == pipeline.Rendered
	}) {
		w.speaker.done(r.release)
	}
}

// unwritten is the error of the papers that a run could not write.
func unwritten(out *pipeline.Outcome) error {
	var all []error
	for _, p := range out.Unwritten {
		all = append(all, p.Err)
	}
	return errors.Join(all...)
}

// keep records the mixes that need no render until they change, including failed ones.
func (w *watcher) keep(r *run, out *pipeline.Outcome) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for path, m := range r.mixes {
		if r.left[path] <= 0 {
			w.done[path] = m
		}
	}
}

// postpone reports once what keeps runs from being done, and has it tried again after a
// while. A choice of tracks that the release never had ends the watch.
func (w *watcher) postpone(err error) {
	var choice *pipeline.ChoiceError
	if errors.As(err, &choice) && w.rendered == nil {
		w.fatal = err
		return
	}
	w.retry = time.Now().Add(w.patience.look)
	if text := err.Error(); text != w.trouble {
		w.trouble = text
		w.speaker.say(true, "%s", text)
	}
}

// tell reports what is not reported render by render.
func (w *watcher) tell(r *run, out *pipeline.Outcome) {
	kept := 0
	for _, x := range out.Results {
		if x.State == pipeline.Kept {
			kept++
		}
	}
	if kept == len(out.Results) {
		text := fmt.Sprintf("all is up to date (%d)", kept)
		if r.cause != "" {
			text = r.cause + ": " + text
		}
		w.speaker.sayOnce(text)
	}
	for _, text := range w.unsaid(r, out) {
		w.speaker.say(false, "note: %s", text)
	}
	for _, x := range out.Results {
		if x.State != pipeline.Rendered {
			continue
		}
		for _, text := range x.Warnings {
			w.speaker.say(true, "warning: %s", text)
		}
		for _, text := range x.Is.FailedRequirements() {
			w.speaker.say(true, "FAILED %s", text)
		}
	}
}

// unsaid are the notes of a run without the one on what is left over, where that was said before of the same
// files.
func (w *watcher) unsaid(r *run, out *pipeline.Outcome) []string {
	left := out.Left.Note(r.release.Path)
	had := w.left
	if w.left = out.Left; w.left != had {
		return out.Notes
	}
	return slices.DeleteFunc(slices.Clone(out.Notes), func(text string) bool { return text == left })
}

// speaker reports one event at a time.
type speaker struct {
	mu   sync.Mutex
	tell func(Event)
	last string // what was reported last
}

func (s *speaker) say(bad bool, format string, args ...any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.last = fmt.Sprintf(format, args...)
	s.tell(Event{Text: s.last, Bad: bad})
}

// done reports that a run has ended.
func (s *speaker) done(rel *release.Release) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tell(Event{Done: rel})
}

// sayOnce reports an event that went well, unless it is what was reported last: one save may
// be seen as several.
func (s *speaker) sayOnce(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if text != s.last {
		s.last = text
		s.tell(Event{Text: text})
	}
}
