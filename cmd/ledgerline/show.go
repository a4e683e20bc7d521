package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

type showVerb struct {
	Ledger string   `arg:"" optional:"" default:"${release}" name:"LEDGER" files:"json" help:"Ledger, release file or folder; default: ${release} in this folder."`
	Track  []string `placeholder:"NAME" sep:"none" help:"Only this track; may be repeated."`
	Full   bool     `help:"Print the stage tables of all tracks."`
	Along  bool     `help:"Print a table of what happened along the tracks."`
}

func (*showVerb) help() verbHelp {
	return verbHelp{
		about: `Prints a stored ledger: a stage table for each master, or a row each if
there are more than six; then what failed, and the release in one line.
With - the ledger is read from standard input.`,
		example: "ledgerline show examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "printed, whatever the ledger says"},
			{exitUsage, "the command line is wrong, or there is no ledger there"},
		},
	}
}

func (v *showVerb) run(_ context.Context, s *streams) error {
	l, err := s.stored(v.Ledger)
	if err != nil {
		return err
	}
	if err := choose(l, v.Track); err != nil {
		return err
	}
	if v.Along {
		return showAlong(s, v.Ledger, l)
	}
	entries := l.Ordered()
	p := printer(s.out)
	if err := tables(p, l.Order, entries, v.Full, func(int) bool { return true }); err != nil {
		return err
	}
	if err := coders(p, entries, v.Full); err != nil {
		return err
	}
	trials, notes := trialsFor(v.Ledger)
	s.note(notes)
	if err := showTrials(s.out, trials, l); err != nil {
		return err
	}
	if err := p.Failures(entries); err != nil {
		return err
	}
	return p.Summary(l)
}

// choose keeps only the named tracks of a ledger, or all if none is named.
func choose(l *ledger.Ledger, names []string) error {
	for _, name := range names {
		if !slices.ContainsFunc(l.Tracks, func(t ledger.Track) bool { return t.Name == name }) {
			return wrongUsage("", "the ledger has no track %q; it has %s", name, shortList(trackNames(l)))
		}
	}
	if len(names) > 0 {
		l.Tracks = slices.DeleteFunc(l.Tracks, func(t ledger.Track) bool { return !slices.Contains(names, t.Name) })
	}
	l.Sum()
	return nil
}

// trackNames are the names of a ledger's tracks, each once and in quotes.
func trackNames(l *ledger.Ledger) []string {
	var names []string
	for _, t := range l.Tracks {
		names = append(names, strconv.Quote(t.Name))
	}
	return slices.Compact(names)
}

// stored reads the ledger that a path leads to: its own file, the release file
// it belongs to, or a folder with either; "-" is standard input. Without one there,
// the command line is wrong.
func (s *streams) stored(path string) (*ledger.Ledger, error) {
	l, err := s.storedAt(path)
	if err != nil {
		return nil, &failure{code: exitUsage, err: err}
	}
	return l, nil
}

func (s *streams) storedAt(path string) (*ledger.Ledger, error) {
	if path == "-" {
		return ledger.Parse(s.in, "standard input")
	}
	at, err := ledgerAt(path)
	if err != nil {
		return nil, err
	}
	return ledger.Read(at)
}

// ledgerAt is the file of the ledger that a path leads to.
func ledgerAt(path string) (string, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil && path == release.Name:
		return "", fmt.Errorf("there is no %s in this folder; name a ledger, a release file or a folder", path)
	case err != nil:
	case strings.EqualFold(filepath.Ext(path), ".toml"):
		return ofRelease(path)
	case info.IsDir():
		if in, err := ledgerIn(path); in != "" || err != nil {
			return in, err
		}
		if file := releaseIn(path); file != path {
			return ofRelease(file)
		}
		return "", fmt.Errorf("%s: there is neither %s nor %s in this folder", path, ledger.FileName, release.Name)
	}
	return path, nil
}

// ledgerIn is the file of the ledger in a folder; empty: there is none.
func ledgerIn(folder string) (string, error) {
	in := filepath.Join(folder, ledger.FileName)
	info, err := os.Stat(in)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil
	case err != nil:
		return "", err
	case info.IsDir():
		return "", fmt.Errorf("%s is a folder, and the ledger belongs there", in)
	}
	return in, whole.Odd(in)
}

// ofRelease is the file of the ledger in the output folder of a release.
func ofRelease(path string) (string, error) {
	rel, err := release.Load(path)
	if err != nil {
		return "", fmt.Errorf("%s; to read its ledger all the same, name the ledger itself", inOneLine(err))
	}
	in, err := ledgerIn(rel.Output.Folder)
	if in == "" && err == nil {
		err = fmt.Errorf("%s has no ledger yet: there is no %s", path,
			filepath.Join(rel.Output.Folder, ledger.FileName))
	}
	return in, err
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}
