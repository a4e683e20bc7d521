package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"ledgerline/pipeline"
)

// load reads a release file, and says what is wrong in it or odd.
func (s *streams) load(path string) (*pipeline.Release, error) {
	release, err := pipeline.Load(path)
	if err != nil {
		return nil, s.wrong(path, err)
	}
	s.note(release.Notes)
	return release, nil
}

// note writes notes, each on a line.
func (s *streams) note(notes []string) {
	for _, text := range notes {
		fmt.Fprintf(s.err, "note: %s\n", text)
	}
}

// wrong is the error of a release file that cannot be used. Its mistakes are
// said at once, each on a line.
func (s *streams) wrong(path string, err error) error {
	var problems pipeline.Problems
	if errors.As(err, &problems) {
		for _, p := range problems {
			fmt.Fprintln(s.err, p)
		}
		err = fmt.Errorf("%s in %s", many(len(problems), "mistake"), path)
	}
	if path == pipeline.ReleaseName && errors.Is(err, fs.ErrNotExist) {
		return &failure{code: exitUsage, hint: "ledgerline new writes one to start from; or name the release file", err: fmt.Errorf("there is no %s in this folder", path)}
	}
	return &failure{code: exitUsage, err: err}
}

// results counts what became of the renders: "2 rendered, 1 up to date".
func results(all []pipeline.Result) string {
	words := []struct {
		state pipeline.State
		word  string
	}{
		{pipeline.Rendered, "rendered"}, {pipeline.Kept, "up to date"},
		{pipeline.Failed, "FAILED"}, {pipeline.Interrupted, "not rendered"},
	}
	var parts []string
	for _, w := range words {
		n := 0
		for _, r := range all {
			if r.State == w.state {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, w.word))
		}
	}
	if parts == nil {
		return "nothing to render"
	}
	return strings.Join(parts, ", ")
}

// many is a number of things in words.
func many(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
