// Package watch keeps a release rendered while its file and its mixes change.
//
// News from the file system is only a reason to look. A look compares the release file
// and every mix with how they were at their last render, and what differs is rendered.
// So no change is lost, however an editor saves. There is also a look every few seconds
// without news, because some folders, mostly those on other machines, send none.
//
// A mix is rendered once it has settled: it has not changed for a while, and its header
// agrees with its size. One that never agrees goes to the render in the end, which says
// what is wrong with it.
package watch

import (
	"context"
	"errors"
	"path/filepath"
	"time"

	"github.com/fsnotify/fsnotify"

	"ledgerline/pipeline"
	"ledgerline/pipeline/release"
)

// Event is one thing that happened.
type Event struct {
	Text string // a line or, of a broken release file, a line for each mistake
	Bad  bool   // something failed or is wrong

	// A run has ended that rendered something or was of another release than the one before, and this is what
	// the ledger records now. It has no text. Nil: the event is another.
	Done *release.Release
}

// patience is how long things may take.
type patience struct {
	gather time.Duration // after news, before looking: one save makes several
	settle time.Duration // without a change, before a release file or a whole mix is used
	giveUp time.Duration // without a change, before a mix that is not whole is used
	look   time.Duration // between looks without news, and between tries of what failed as a whole
}

var usual = patience{
	gather: 20 * time.Millisecond,
	settle: 250 * time.Millisecond,
	giveUp: 3 * time.Second,
	look:   2 * time.Second,
}

// Release renders a release, and renders again whatever changes, until ctx is
// cancelled; its error is then ctx's. Another error says why watching is not
// possible at all. Events come one at a time. The options' progress gets each render and
// may be nil.
func Release(ctx context.Context, path string, o pipeline.Options, tell func(Event)) error {
	return follow(ctx, path, o, tell, usual)
}

func follow(ctx context.Context, path string, o pipeline.Options, tell func(Event), p patience) error {
	w, err := newWatcher(path, o, tell, p)
	if err != nil {
		return err
	}
	defer w.news.Close()
	for ctx.Err() == nil && w.fatal == nil {
		w.step(ctx)
		w.wait(ctx)
	}
	if w.running != nil {
		w.running.cancel()
		<-w.running.ended
	}
	if w.fatal != nil {
		return w.fatal
	}
	return ctx.Err()
}

// watcher is the state of watching. Only the goroutine that called Release
// touches it.
type watcher struct {
	path     string // the release file as the user wrote it
	abs      string // the same, absolute
	options  pipeline.Options
	patience patience
	speaker  *speaker
	news     *fsnotify.Watcher
	followed map[string]folder
	wake     time.Duration // the longest that the next wait may take

	seen
	loadedFrom  mark     // the release file that was loaded last, good or bad
	loadedHouse mark     // the file that it inherits from, as it was then
	loadedNames string   // the mixes that were there then
	saved       string   // which of the files that are read was saved since the last run, by name
	broken      bool     // it was bad
	complaint   string   // what was said of it last
	notes       []string // what was said to be odd in it
	release     *release.Release

	waits    map[string]*waiting // mixes that have not settled
	running  *run
	rendered *release.Release // what the last finished run rendered
	done     map[string]mark  // the mixes as they were when they were last rendered
	left     pipeline.Left    // what the last finished run found left over
	trouble  string           // what kept the last run as a whole from being done
	retry    time.Time        // when it is tried again
	fatal    error
}

func newWatcher(path string, o pipeline.Options, tell func(Event), p patience) (*watcher, error) {
	var mistakes release.Problems
	if _, err := release.Load(path); err != nil && !errors.As(err, &mistakes) {
		return nil, err
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	news, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, err
	}
	return &watcher{
		path: path, abs: abs, options: o, patience: p,
		speaker:  &speaker{tell: tell},
		news:     news,
		followed: map[string]folder{},
		seen:     newSeen(),
		waits:    map[string]*waiting{},
		done:     map[string]mark{},
	}, nil
}

// step looks, and begins or stops what is called for.
func (w *watcher) step(ctx context.Context) {
	w.wake = w.patience.look
	w.follow()
	now := time.Now()
	w.look(now, w.abs, w.release)
	if w.needsLoad(now) {
		w.load()
	}
	switch {
	case w.running != nil:
		w.stopIfStale()
	case w.release != nil && !w.broken && !now.Before(w.retry):
		w.start(ctx, now)
	}
}

// wait returns when there is a reason to look again.
func (w *watcher) wait(ctx context.Context) {
	if w.fatal != nil {
		return
	}
	timer := time.NewTimer(w.wake)
	defer timer.Stop()
	var ended chan outcome
	if w.running != nil {
		ended = w.running.ended
	}
	select {
	case <-ctx.Done():
	case <-timer.C:
	case o := <-ended:
		w.finish(o)
	case <-w.news.Events:
		w.gather(ctx)
	case <-w.news.Errors: // news may be lost: look
	}
}

// gather collects news for a moment.
func (w *watcher) gather(ctx context.Context) {
	until := time.After(w.patience.gather)
	for {
		select {
		case <-ctx.Done():
			return
		case <-until:
			return
		case <-w.news.Events:
		}
	}
}

// soon makes the next wait no longer than d.
func (w *watcher) soon(d time.Duration) { w.wake = max(min(w.wake, d), time.Millisecond) }
