package main

import (
	"context"
	"fmt"
	"io"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

type checkVerb struct {
	Release  []string `arg:"" optional:"" default:"${release}" sep:"none" name:"RELEASE" files:"toml" help:"Release files or folders (-: names on stdin); default: ${release}."`
	Stale    bool     `help:"Exit with 3 if something is to be rendered."`
	Resolved bool     `help:"Print the file with what it inherits, and where keys are from."`
	CSV      bool     `name:"csv" help:"Print a row for each release, as CSV."`
	JSON     bool     `name:"json" help:"Print the plan as JSON."`
}

func (*checkVerb) help() verbHelp {
	return verbHelp{
		about: `Reads a release file, finds its mixes and prints the plan: the chain with every
setting, the tracks and their outputs, which of them are stale and why, and what
is legal but odd. Renders nothing and writes nothing. For several releases,
prints a row for each: how many tracks are stale, how many cannot be rendered,
how many files are left over. A release file with mistakes has a row, too.`,
		example: "ledgerline check examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "the release can be rendered"},
			{
				exitFailed, "a mix cannot be read, a file is in the way of an output,\n" +
					"or one of several release files is wrong",
			},
			{exitUsage, "the command line, the release file or the ledger is wrong"},
			{exitRequirement, "with --stale: something is to be rendered"},
			{exitTemporary, "a disk or the network failed: try again"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

func (v *checkVerb) run(ctx context.Context, s *streams) error {
	paths, err := names(v.Release, s.in)
	if err != nil {
		return err
	}
	if v.CSV || len(v.Release) != 1 || v.Release[0] == "-" {
		if v.Resolved {
			return wrongUsage("name one release file", "check: --resolved prints one release, not a row for each")
		}
		if v.JSON {
			return wrongUsage("--csv prints a row for each of several", "check: --json prints the plan of one release")
		}
		return v.checkMany(ctx, s, paths)
	}
	if v.Resolved {
		path := releaseIn(paths[0])
		text, err := release.Resolved(path)
		if err != nil {
			return s.wrong(path, err)
		}
		_, err = io.WriteString(s.out, text)
		return err
	}
	rel, err := s.load(paths[0], true)
	if err != nil {
		return err
	}
	forecast, err := pipeline.Forecast(ctx, rel, pipeline.Options{Tool: tool, Brief: true})
	if err != nil {
		return err
	}
	p, unreadable := newPlan(rel, forecast)
	if err := v.print(s.out, p); err != nil {
		return err
	}
	said := map[string]bool{} // a mix that does not fit a stage is unfit in all versions that have it
	for _, err := range unreadable {
		if text := told(err); !said[text] {
			fmt.Fprintf(s.err, "ledgerline: %s\n", text)
			said[text] = true
		}
	}
	if err := failed(unreadable...); err != nil {
		return err
	}
	return v.verdict(p.stale())
}

// verdict is the error of a check that finds something to render, if it was asked for.
func (v *checkVerb) verdict(stale bool) error {
	if v.Stale && stale {
		return &failure{code: exitRequirement}
	}
	return nil
}

func (v *checkVerb) print(w io.Writer, p *plan) error {
	if v.JSON {
		return ledger.EncodeJSON(w, p)
	}
	return printFitted(w, p.print)
}
