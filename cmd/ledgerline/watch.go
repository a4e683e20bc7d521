package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"ledgerline/pipeline/release"
	"ledgerline/pipeline/watch"
)

type watchVerb struct {
	Release string `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file or folder; default: ${release} in this folder."`
	choice
	Listen bool `help:"Also serve a page that plays what is rendered."`
}

func (*watchVerb) help() verbHelp {
	return verbHelp{
		about: `Renders a release, then follows its file and its mixes and renders again what a
change makes stale, with a line for each event. A mix that is being written is
left alone until it is whole. With --listen it also prints the address of a
page that plays what is rendered, as listen does. Ctrl-C ends it.`,
		example: "ledgerline watch examples/night-ferry/release.toml",
		exits: []exit{
			{exitFailed, "watching is not possible"},
			{exitUsage, "the command line is wrong or there is no release file"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP); no file is half written"},
		},
	}
}

func (v *watchVerb) run(ctx context.Context, s *streams) error {
	v.Release = releaseIn(v.Release)
	var mistakes release.Problems
	if _, err := release.Load(v.Release); err != nil && !errors.As(err, &mistakes) {
		return s.wrong(v.Release, err) // mistakes can be corrected while watching
	}
	o := v.options()
	out := s.out
	if f, columns, ok := terminal(s.err); ok {
		if _, _, both := terminal(s.out); both {
			b := newBars(f, columns)
			b.quiet = true
			o.Progress, out = b.hear, b
		}
	}
	_, columns, _ := terminal(s.out)
	tell := eventPrinter(out, columns, coloured(s.out))
	tell(watch.Event{Text: "watching " + v.Release})
	if v.Listen {
		return v.listen(ctx, s, o, tell)
	}
	return s.stopped(nil, watch.Release(ctx, v.Release, o, tell))
}

// stampColumns is the width of the time of day before an event.
const stampColumns = len(time.TimeOnly) + 2

// The colour of bad events, the terminal's own (ECMA-48, select graphic rendition).
const red, uncoloured = "\x1b[31m", "\x1b[m"

// eventPrinter prints each line of an event after the time of day. On a terminal, which
// has columns, it breaks long lines between words and indents them.
func eventPrinter(w io.Writer, columns int, colour bool) func(watch.Event) {
	return func(e watch.Event) {
		for line := range strings.Lines(e.Text) {
			line = strings.TrimSuffix(line, "\n")
			if columns > 2*stampColumns {
				line = brokenAt(line, columns-stampColumns, "\n"+strings.Repeat(" ", stampColumns))
			}
			if e.Bad && colour && line != "" {
				line = red + line + uncoloured
			}
			fmt.Fprintf(w, "%s  %s\n", time.Now().Format(time.TimeOnly), line)
		}
	}
}

// brokenAt is a line broken at spaces to fit a number of columns. A longer word is left
// to the terminal.
func brokenAt(line string, width int, with string) string {
	var text strings.Builder
	at := 0
	for i, word := range strings.Split(line, " ") {
		w := ansi.StringWidth(word)
		switch {
		case i == 0:
		case at+1+w > width:
			text.WriteString(with)
			at = 0
		default:
			text.WriteByte(' ')
			at++
		}
		text.WriteString(word)
		at += w
	}
	return text.String()
}
