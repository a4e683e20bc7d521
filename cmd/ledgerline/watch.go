package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"charm.land/lipgloss/v2"

	"ledgerline/pipeline"
	"ledgerline/pipeline/watch"
)

type watchVerb struct {
	Release string `arg:"" optional:"" must:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file; default: ${release} in this folder."`
	choice
}

func (*watchVerb) help() verbHelp {
	return verbHelp{
		about: `Renders a release, then follows its file and its mixes and renders again what a
change makes stale, with a line for each event. A mix that is being written is
left alone until it is whole. Ends when it is interrupted.`,
		example: "ledgerline watch examples/night-ferry/release.toml",
		exits: []exit{
			{exitFailed, "watching is not possible"},
			{exitUsage, "the command line is wrong or there is no release file"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP); no file is half written"},
		},
	}
}

func (v *watchVerb) run(ctx context.Context, s *streams) error {
	var mistakes pipeline.Problems
	if _, err := pipeline.Load(v.Release); err != nil && !errors.As(err, &mistakes) {
		return s.wrong(v.Release, err) // mistakes can be mended while we watch
	}
	o := v.options()
	out := s.out
	if f, columns, ok := terminal(s.err); ok {
		if _, _, both := terminal(s.out); both {
			b := newBars(f, columns)
			b.quiet = true
			o.Progress, out = b, b
		}
	}
	tell := eventPrinter(out, coloured(s.out))
	tell(watch.Event{Text: "watching " + v.Release})
	return s.stopped(nil, watch.Release(ctx, v.Release, o, tell))
}

// eventPrinter prints each line of an event behind the time of day.
func eventPrinter(w io.Writer, colour bool) func(watch.Event) {
	bad := lipgloss.NewStyle().Foreground(lipgloss.Red)
	return func(e watch.Event) {
		for line := range strings.Lines(e.Text) {
			line = strings.TrimSuffix(line, "\n")
			if e.Bad && colour {
				line = bad.Render(line)
			}
			fmt.Fprintf(w, "%s  %s\n", time.Now().Format(time.TimeOnly), line)
		}
	}
}
