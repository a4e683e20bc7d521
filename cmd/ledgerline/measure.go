package main

import (
	"context"
	"fmt"
	"io"
	"runtime"
	"strings"

	"ledgerline/pipeline/inspect"
)

type measureVerb struct {
	Files []string `arg:"" optional:"" name:"FILE" files:"wav" help:"WAV, FLAC or AIFF files."`
	JSON  bool     `name:"json" help:"Print every figure as JSON."`
}

func (*measureVerb) help() verbHelp {
	return verbHelp{
		about: `Reads audio files and prints a reading of each: every figure of a single file,
the main ones of several. Then lists what to know before accepting a mix: runs
of clipped samples, peaks beyond full scale, DC, silence at head and tail,
abrupt starts and ends, silent, identical or inverted channels, padded word
lengths.`,
		example: "ledgerline measure examples/night-ferry/mixes/*.wav",
		exits: []exit{
			{exitDone, "every file was read, whatever was found in it"},
			{exitFailed, "a file could not be read; the others were"},
			{exitUsage, "the command line is wrong"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

func (v *measureVerb) run(ctx context.Context, s *streams) error {
	found, errs := inspect.Files(ctx, v.Files, runtime.GOMAXPROCS(0))
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var read []*inspect.Mix
	var unread []error
	for i, err := range errs {
		if err == nil {
			read = append(read, found[i])
			continue
		}
		fmt.Fprintf(s.err, "ledgerline: %s\n", told(err))
		unread = append(unread, err)
	}
	if len(read) > 0 || v.JSON {
		_, columns, _ := terminal(s.out)
		write := func() error {
			var b strings.Builder
			if err := inspect.Print(&b, read, columns); err != nil {
				return err
			}
			_, err := io.WriteString(s.out, fitted(b.String(), columns))
			return err
		}
		if v.JSON {
			write = func() error { return inspect.Encode(s.out, read) }
		}
		if err := write(); err != nil {
			return err
		}
	}
	return failed(unread...)
}
