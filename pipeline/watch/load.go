package watch

import (
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"ledgerline/pipeline/release"
)

// needsLoad says whether the release file or the list of mixes differs from what was
// loaded. Both must have settled, because a file that is deleted and made again is gone
// for a moment. A broken release file is tried at each look: its mistake may be a mix that
// is not there yet.
func (w *watcher) needsLoad(now time.Time) bool {
	changed := w.broken || w.release == nil || !same(w.file, w.loadedFrom) || !same(w.house, w.loadedHouse) ||
		w.names() != w.loadedNames
	quiet := min(now.Sub(w.since[w.abs]), now.Sub(w.set))
	if w.release != nil && w.release.House != "" {
		quiet = min(quiet, now.Sub(w.since[w.release.House]))
	}
	if changed && quiet < w.patience.settle {
		w.soon(w.patience.settle - quiet)
		return false
	}
	return changed
}

// load reads the release file anew. Nothing is rendered while it has mistakes, and the
// masters stay.
func (w *watcher) load() {
	w.noteSaved()
	r, err := release.Load(w.path)
	w.broken = err != nil
	if err != nil {
		w.loadedFrom = w.file
		text := err.Error()
		if errors.Is(err, fs.ErrNotExist) && w.file == nil {
			text = w.path + " is gone; waiting for it"
		}
		if text != w.complaint {
			w.complaint = text
			w.speaker.say(true, "%s", text)
		}
		return
	}
	if w.complaint != "" {
		w.complaint = ""
		w.speaker.say(false, "%s is valid again", w.path)
	}
	had, stays := w.house, w.release != nil && w.release.House == r.House
	w.release, w.loadedFrom = r, w.file
	w.sayNotes(r.Notes)
	w.look(time.Now(), w.abs, r)
	if w.loadedHouse = w.house; stays {
		w.loadedHouse = had // it may have changed since it was read
	}
	w.loadedNames = w.names()
	w.follow()
}

// noteSaved notes which of the files that are read was saved.
func (w *watcher) noteSaved() {
	switch {
	case !same(w.file, w.loadedFrom):
		w.saved = filepath.Base(w.path)
	case !same(w.house, w.loadedHouse):
		w.saved = filepath.Base(w.release.House)
	}
}

// sayNotes reports what is odd in the release, each oddity once.
func (w *watcher) sayNotes(notes []string) {
	for _, n := range notes {
		if !slices.Contains(w.notes, n) {
			w.speaker.say(false, "note: %s", n)
		}
	}
	w.notes = notes
}
