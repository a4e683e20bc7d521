package watch

import (
	"os"
	"path/filepath"
	"strings"
)

// folder is a folder that sends news. Another folder may take its name.
type folder = os.FileInfo

// follow asks for news from every folder that matters: those of the release file and of
// the mixes, and those in which these folders themselves may come and go.
func (w *watcher) follow() {
	wanted := map[string]folder{}
	w.want(wanted, filepath.Dir(w.abs))
	if w.release != nil {
		if w.release.House != "" {
			w.want(wanted, filepath.Dir(w.release.House))
		}
		for _, g := range w.release.Globs {
			w.wantPattern(wanted, filepath.Dir(g))
		}
	}
	live := map[string]bool{}
	for _, path := range w.news.WatchList() {
		live[path] = true
	}
	for path, is := range wanted {
		if was := w.followed[path]; live[path] && was != nil && os.SameFile(was, is) {
			continue
		}
		if live[path] {
			_ = w.news.Remove(path)
		}
		if w.news.Add(path) != nil {
			delete(wanted, path) // without news: the looks in between will do
		}
	}
	for path := range live {
		if wanted[path] == nil {
			_ = w.news.Remove(path)
		}
	}
	w.followed = wanted
}

// want adds a folder, or the nearest above it that is there.
func (w *watcher) want(wanted map[string]folder, path string) {
	for {
		if info, err := os.Stat(path); err == nil && info.IsDir() {
			wanted[path] = info
			return
		}
		above := filepath.Dir(path)
		if above == path {
			return
		}
		path = above
	}
}

// wantPattern adds the folders that a pattern finds, and those above them up to
// the one above the pattern's fixed beginning.
func (w *watcher) wantPattern(wanted map[string]folder, pattern string) {
	for {
		found, _ := filepath.Glob(pattern)
		for _, path := range found {
			w.want(wanted, path)
		}
		above := filepath.Dir(pattern)
		if above == pattern || !strings.ContainsAny(pattern, `*?[\`) { // a root may hold a sign: C:\
			w.want(wanted, pattern)
			w.want(wanted, above)
			return
		}
		pattern = above
	}
}
