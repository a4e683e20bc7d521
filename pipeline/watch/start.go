package watch

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ledgerline/pipeline/release"
)

// start renders what has changed since its last render, of the mixes that have settled.
func (w *watcher) start(ctx context.Context, now time.Time) {
	ready, changed, wanted := map[string]mark{}, []string{}, false
	for _, r := range w.release.Renders {
		if _, ok := ready[r.Source]; ok || !w.wantsTrack(r.Track) {
			continue
		}
		wanted = true
		if !w.settled(r.Source, now) {
			continue
		}
		ready[r.Source] = w.mixes[r.Source]
		if !same(w.mixes[r.Source], w.done[r.Source]) {
			changed = append(changed, filepath.Base(r.Source))
		}
	}
	if wanted && len(ready) == 0 || len(changed) == 0 && w.release == w.rendered || w.moreSoon(now) {
		return
	}
	w.running = newRun(w, ready, w.cause(changed, w.back(ready)))
	w.saved = ""
	go w.running.render(ctx)
}

func (w *watcher) wantsTrack(track string) bool {
	return len(w.options.Tracks) == 0 || slices.Contains(w.options.Tracks, track)
}

// waiting is the wait for a mix to settle.
type waiting struct {
	from     time.Time
	reported bool
}

// settled says whether a mix can be rendered. If not, the next look is due
// when it may be; a longer wait is reported once.
func (w *watcher) settled(path string, now time.Time) bool {
	if w.mixes[path] == nil {
		return false
	}
	quiet := now.Sub(w.since[path])
	if quiet >= w.patience.giveUp || quiet >= w.patience.settle && w.isWhole(path) {
		delete(w.waits, path)
		return true
	}
	w.soon(w.patience.settle)
	wait := w.waits[path]
	if wait == nil {
		wait = &waiting{from: now}
		w.waits[path] = wait
	}
	if !wait.reported && !w.young(wait, now) {
		wait.reported = true
		w.speaker.say(false, "waiting for %s: it is being written", filepath.Base(path))
	}
	return false
}

// young says whether a wait may soon be over: as long as a quick save takes.
func (w *watcher) young(wait *waiting, now time.Time) bool {
	return now.Sub(wait.from) < 3*w.patience.settle
}

// moreSoon says whether a mix is about to settle, so that those saved together
// are rendered together.
func (w *watcher) moreSoon(now time.Time) bool {
	for path, wait := range w.waits {
		if w.mixes[path] == nil {
			delete(w.waits, path)
		} else if w.young(wait, now) {
			return true
		}
	}
	return false
}

// back are the mixes that were gone since the last run, and are what they were before.
func (w *watcher) back(ready map[string]mark) (names []string) {
	for path := range ready {
		if w.lost[path] && same(w.mixes[path], w.done[path]) {
			names = append(names, filepath.Base(path))
		}
		delete(w.lost, path)
	}
	slices.Sort(names)
	return names
}

// cause is what has happened since the last run, in words; empty at the first.
func (w *watcher) cause(changed, back []string) string {
	if w.rendered == nil {
		return ""
	}
	if w.release.Hash != w.rendered.Hash {
		changed = append([]string{filepath.Base(w.path)}, changed...)
	}
	var parts []string
	if len(changed) > 0 {
		parts = append(parts, strings.Join(changed, ", ")+" changed")
	}
	if gone := gone(w.rendered, w.release); len(gone) > 0 {
		parts = append(parts, strings.Join(gone, ", ")+are(gone)+"gone")
	}
	if len(back) > 0 {
		parts = append(parts, strings.Join(back, ", ")+are(back)+"back")
	}
	if parts == nil && w.saved != "" {
		return w.saved + " was saved"
	}
	return strings.Join(parts, ", ")
}

func are(names []string) string {
	if len(names) == 1 {
		return " is "
	}
	return " are "
}

// gone are the mixes that the release had and no longer has.
func gone(was, is *release.Release) []string {
	var names []string
	for _, r := range was.Renders {
		has := func(x release.Render) bool { return x.Source == r.Source }
		if name := filepath.Base(r.Source); !slices.ContainsFunc(is.Renders, has) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}
