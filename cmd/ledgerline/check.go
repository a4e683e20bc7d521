package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
)

type checkVerb struct {
	Release string `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file or folder; default: ${release} in this folder."`
	JSON    bool   `name:"json" help:"Print the plan as JSON."`
}

func (*checkVerb) help() verbHelp {
	return verbHelp{
		about: `Reads a release file, finds its mixes and prints the plan: the chain with every
setting, the tracks and their outputs, which of them are stale and why, and what
is legal but odd. Renders nothing and writes nothing.`,
		example: "ledgerline check examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "the release can be rendered"},
			{exitFailed, "a mix cannot be read, or a file is in the way of an output"},
			{exitUsage, "the command line or the release file is wrong"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

func (v *checkVerb) run(ctx context.Context, s *streams) error {
	rel, err := s.load(v.Release, true)
	if err != nil {
		return err
	}
	standing, err := pipeline.Standing(ctx, rel, pipeline.Options{Tool: tool})
	if err != nil {
		return err
	}
	p, unreadable := newPlan(rel, standing)
	if err := v.print(s.out, p); err != nil {
		return err
	}
	for _, err := range unreadable {
		fmt.Fprintf(s.err, "ledgerline: %s\n", told(err))
	}
	return failed(unreadable...)
}

func (v *checkVerb) print(w io.Writer, p *plan) error {
	if v.JSON {
		return ledger.EncodeJSON(w, p)
	}
	var b strings.Builder
	p.print(&b)
	_, columns, _ := terminal(w)
	_, err := io.WriteString(w, fitted(b.String(), columns))
	return err
}
