package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"ledgerline/pipeline/page"
	"ledgerline/pipeline/whole"
)

type pageVerb struct {
	Ledger string `arg:"" optional:"" default:"${release}" name:"LEDGER" files:"json" help:"Ledger, release file or folder; default: ${release} in this folder."`
	Survey string `placeholder:"FILE" files:"json" help:"Draw this survey with its tracks: what survey --json printed."`
	Out    string `placeholder:"FILE" help:"Write it there; default: ledger.html beside the ledger."`
}

func (*pageVerb) help() verbHelp {
	return verbHelp{
		about: `Draws a stored ledger as one HTML page: the verdict, every render in a row, and
what happened along each track. The page needs no network and no other file.`,
		example: "ledgerline page examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "written, whatever the ledger says"},
			{exitFailed, "the page could not be written"},
			{exitUsage, "the command line is wrong, or there is no ledger there"},
		},
	}
}

func (v *pageVerb) run(_ context.Context, s *streams) error {
	l, err := s.stored(v.Ledger)
	if err != nil {
		return err
	}
	records, err := recordsFor(v.Ledger, l)
	if err != nil {
		return err
	}
	trials, notes := trialsFor(v.Ledger)
	s.note(notes)
	to := v.Out
	switch {
	case to == "" && v.Ledger == "-":
		return wrongUsage("ledgerline page - --out ledger.html",
			"page: a ledger from standard input has no place for its page")
	case to == "":
		at, err := ledgerAt(v.Ledger)
		if err != nil {
			return &failure{code: exitUsage, err: err}
		}
		to = strings.TrimSuffix(at, filepath.Ext(at)) + ".html"
	}
	c := page.Content{Ledger: l, Records: records, Trials: trials}
	if v.Survey != "" {
		text, err := whole.ReadFile(v.Survey)
		if err != nil {
			return &failure{code: exitUsage, err: err}
		}
		if c.Survey, err = page.ParseSurvey(text); err != nil {
			return &failure{code: exitUsage, err: fmt.Errorf("%s: %w", v.Survey, err)}
		}
	}
	if err := writePage(to, c); err != nil {
		return err
	}
	_, err = fmt.Fprintln(s.out, to)
	return err
}

// writePage writes a page, but not over a file that is something else. A device or a pipe would be replaced
// by the page, and reading a pipe would wait for ever.
func writePage(to string, c page.Content) error {
	switch info, err := os.Stat(to); {
	case err == nil && info.IsDir():
		return fmt.Errorf("%q is a folder; want a file, such as %q", to, filepath.Join(to, page.FileName))
	case err == nil && !info.Mode().IsRegular():
		return fmt.Errorf("%q is %s, which is never replaced; choose another place", to, whole.Oddity(info.Mode()))
	}
	if old, err := whole.ReadFile(to); err == nil && len(old) > 0 && !page.Is(old) {
		return fmt.Errorf("%s is no page of a ledger and is not replaced; choose another file", to)
	}
	text, err := page.Make(c)
	if err != nil {
		return err
	}
	if err := whole.Write(to, text); err != nil {
		return fmt.Errorf("%s: %w", to, err)
	}
	return nil
}
