package watch

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
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
		switch {
		case errors.Is(err, fs.ErrNotExist) && w.file == nil:
			text = w.path + " is gone; waiting for it"
		default:
			text = w.missing(text) + text
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

// missing is a line on the mixes that are gone, which the release file's mistakes may come from; empty: none
// is gone.
func (w *watcher) missing(mistakes string) string {
	if w.release == nil {
		return ""
	}
	var all, named []string
	for i := range w.release.Renders {
		r := &w.release.Renders[i]
		name := filepath.Base(r.Source)
		if w.mixes[r.Source] != nil || slices.Contains(all, name) {
			continue
		}
		all = append(all, name)
		if strings.Contains(mistakes, strconv.Quote(r.Track)) || strings.Contains(mistakes, name) {
			named = append(named, name)
		}
	}
	switch {
	case len(named) == 1:
		return fmt.Sprintf("%s is gone, but %s still names it:\n", named[0], filepath.Base(w.path))
	case len(named) > 1:
		return fmt.Sprintf("%s are gone, but %s still names them:\n",
			strings.Join(named, ", "), filepath.Base(w.path))
	case len(all) > 0:
		return strings.Join(all, ", ") + are(all) + "gone\n"
	}
	return ""
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
