package release

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// missed are the notes on files that a pattern would match but for the case of
// their letters, one for each pattern. A file that another pattern matches is
// none, nor is an output.
func (c *checker) missed(patterns []pattern, p placing) (notes []note) {
	known := map[string]bool{}
	for _, m := range p.mixes {
		known[m.path] = true
	}
	for _, s := range patterns {
		paths, err := expand(p.folder, s.text, matchAnyCase)
		if err != nil {
			continue // match has told
		}
		slices.Sort(paths)
		paths = slices.DeleteFunc(paths, func(path string) bool {
			info, err := os.Stat(path)
			return known[path] || err != nil || !info.Mode().IsRegular() || p.isOutput(path)
		})
		for _, path := range paths {
			known[path] = true
		}
		if len(paths) > 0 {
			absolute := filepath.IsAbs(filepath.FromSlash(s.text))
			notes = append(notes, note{s.line, leftOut(s.text, written(paths[0], p.folder, absolute), len(paths)-1)})
		}
	}
	return notes
}

// leftOut says that a pattern misses a file, and how many more.
func leftOut(pattern, first string, more int) string {
	verb := "is"
	if more > 0 {
		verb = "are"
	}
	why := fmt.Sprintf("%q would match but for the case of the letters", pattern)
	if want := filepath.Ext(pattern); want != filepath.Ext(first) &&
		strings.EqualFold(want, filepath.Ext(first)) {
		why = fmt.Sprintf("%q asks for %s", pattern, want)
	}
	return fmt.Sprintf("%s%s %s left out: %s", first, andMore(more), verb, why)
}

// isOutput reports whether a path is that of a render.
func (p placing) isOutput(path string) bool {
	return slices.ContainsFunc(p.places, func(v place) bool {
		return filepath.Dir(p.path(v, "")) == filepath.Dir(path) &&
			slices.ContainsFunc(p.mixes, func(m mix) bool { return p.path(v, m.track) == path })
	})
}

// matchAnyCase is filepath.Match where capitals do not count.
func matchAnyCase(pattern, name string) (bool, error) {
	return filepath.Match(strings.ToLower(pattern), strings.ToLower(name))
}
