package watch

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
)

// mark distinguishes states of a file; nil: there is no file.
type mark = os.FileInfo

// same says whether a file has stayed as it was, as far as its folder shows.
func same(a, b mark) bool {
	if a == nil || b == nil {
		return a == nil && b == nil
	}
	return a.Size() == b.Size() && a.ModTime().Equal(b.ModTime()) && os.SameFile(a, b)
}

// markOf is nil if there is nothing, or no file.
func markOf(path string) mark {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return nil
	}
	return info
}

// seen is what was seen of the files at the last look.
type seen struct {
	file  mark            // the release file
	house mark            // the file that it inherits from; nil: none
	mixes map[string]mark // those that are there
	since map[string]time.Time
	set   time.Time       // since when these mixes and no others have been there
	whole map[string]mark // mixes that were found whole, as they were then
	lost  map[string]bool // mixes that were gone since the last run
	first bool            // nothing was seen yet
}

func newSeen() seen {
	return seen{
		mixes: map[string]mark{}, since: map[string]time.Time{},
		whole: map[string]mark{}, lost: map[string]bool{}, first: true,
	}
}

// look sees the release file and the mixes of the release as it was loaded
// last; nil: it never was.
func (s *seen) look(now time.Time, file string, r *release.Release) {
	was := s.file
	s.file = markOf(file)
	s.note(file, was, s.file, now)
	had := s.house
	if s.house = nil; r != nil && r.House != "" {
		s.house = markOf(r.House)
		s.note(r.House, had, s.house, now)
	}
	mixes := map[string]mark{}
	for _, path := range paths(r) {
		if m := markOf(path); m != nil {
			mixes[path] = m
		}
	}
	for path, m := range mixes {
		s.note(path, s.mixes[path], m, now)
		if s.mixes[path] == nil && !s.first {
			s.set = now
		}
	}
	for path := range s.mixes {
		if mixes[path] == nil {
			delete(s.since, path)
			delete(s.whole, path)
			s.lost[path], s.set = true, now
		}
	}
	s.mixes = mixes
	if r != nil {
		s.first = false
	}
}

// note records when a file changed. A file that was there at the start changed when its
// folder says.
func (s *seen) note(path string, was, is mark, now time.Time) {
	if same(was, is) {
		return
	}
	s.since[path] = now
	if s.first && is != nil && is.ModTime().Before(now) {
		s.since[path] = is.ModTime()
	}
}

// paths are the mixes that a release has and those that its patterns find now.
func paths(r *release.Release) []string {
	if r == nil {
		return nil
	}
	var all []string
	for _, render := range r.Renders {
		all = append(all, render.Source)
	}
	for _, g := range r.Globs {
		found, _ := filepath.Glob(g) // the pattern was checked when the release was loaded
		all = append(all, found...)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// names are the mixes that are there.
func (s *seen) names() string {
	var all []string
	for path := range s.mixes {
		all = append(all, path)
	}
	slices.Sort(all)
	return strings.Join(all, "\x00")
}

// isWhole says whether a mix's header agrees with its size.
func (s *seen) isWhole(path string) bool {
	if m, ok := s.whole[path]; ok && same(m, s.mixes[path]) {
		return true
	}
	f, err := audiofile.Open(path)
	if err != nil {
		return false
	}
	f.Close()
	s.whole[path] = s.mixes[path]
	return true
}
