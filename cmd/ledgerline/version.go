package main

import (
	"context"
	"fmt"
)

const (
	version = "0.1.0"
	tool    = "ledgerline " + version // as ledgers record it
)

type versionVerb struct{}

func (versionVerb) run(_ context.Context, s *streams) error {
	_, err := fmt.Fprintln(s.out, tool)
	return err
}

func (versionVerb) help() verbHelp {
	return verbHelp{
		about:   "Prints the version, as ledgers record it.",
		example: "ledgerline version",
		exits:   []exit{{exitDone, "printed"}},
	}
}
