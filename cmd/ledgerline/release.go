package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"ledgerline/pipeline"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// load reads a release file. It reports the mistakes in it and, unless quiet, what is odd.
func (s *streams) load(path string, quiet bool) (*release.Release, error) {
	path = releaseIn(path)
	rel, err := release.Load(path)
	if err != nil {
		return nil, s.wrong(path, err)
	}
	if !quiet {
		s.note(rel.Notes)
	}
	return rel, nil
}

// releaseIn is the release file in a folder that has one; any other path is itself.
func releaseIn(path string) string {
	if in := filepath.Join(path, release.Name); isFile(in) || whole.Odd(in) != nil {
		return in
	}
	return path
}

// note writes notes, each on a line.
func (s *streams) note(notes []string) {
	_, columns, _ := terminal(s.err)
	for _, text := range notes {
		_, _ = io.WriteString(s.err, fitted("note: "+text+"\n", columns))
	}
}

// wrong is the error of a release file that cannot be used. It prints all its mistakes,
// each on a line.
func (s *streams) wrong(path string, err error) error {
	code := exitUsage
	if pipeline.Curable(err) {
		code = exitTemporary
	}
	var problems release.Problems
	if errors.As(err, &problems) {
		for _, p := range problems {
			fmt.Fprintln(s.err, p)
		}
		err = fmt.Errorf("%s in %s", many(len(problems), "mistake"), strings.Join(filesOf(problems), " and "))
	}
	if path == release.Name && errors.Is(err, fs.ErrNotExist) {
		return &failure{
			code: exitUsage, hint: "ledgerline new writes one to start from; or name the release file",
			err: fmt.Errorf("there is no %s in this folder", path),
		}
	}
	return &failure{code: code, err: err}
}

// filesOf are the files that mistakes are in: the release file, one that it inherits from, or both.
func filesOf(problems release.Problems) (files []string) {
	for _, p := range problems {
		if !slices.Contains(files, p.File) {
			files = append(files, p.File)
		}
	}
	return files
}

// results counts what became of the renders: "2 rendered, 1 up to date".
func results(all []pipeline.Result) string {
	n := counted(all)
	var parts []string
	add := func(n int, word string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, word))
		}
	}
	add(n[pipeline.Rendered], "rendered")
	add(n[pipeline.Kept], "up to date")
	add(n[pipeline.Failed], "FAILED")
	if parts == nil {
		return "nothing to render"
	}
	return strings.Join(parts, ", ")
}

// halted counts what an interrupted run rendered, kept and left undone:
// "3 rendered, 2 kept, 7 left".
func halted(all []pipeline.Result) string {
	n := counted(all)
	text := fmt.Sprintf("%d rendered, %d kept, %d left", n[pipeline.Rendered], n[pipeline.Kept],
		n[pipeline.Interrupted])
	if n[pipeline.Failed] > 0 {
		text += fmt.Sprintf(", %d FAILED", n[pipeline.Failed])
	}
	return text
}

// counted is how many renders ended in each state.
func counted(all []pipeline.Result) map[pipeline.State]int {
	n := map[pipeline.State]int{}
	for _, r := range all {
		n[r.State]++
	}
	return n
}

// many is a count with its noun: "1 track", "2 tracks".
func many(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
