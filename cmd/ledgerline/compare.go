package main

import (
	"context"

	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/page"
	"ledgerline/pipeline/trial"
)

type compareVerb struct {
	Old         string   `arg:"" optional:"" name:"OLD" files:"json" help:"The older ledger, or its release file or folder; - for standard input."`
	New         string   `arg:"" optional:"" name:"NEW" files:"json" help:"The newer ledger, or its release file or folder; - for standard input."`
	ToleranceDB decibels `name:"tolerance-db" placeholder:"DB" default:"${tolerance}" help:"Ignore figures that moved by no more; default: ${tolerance}."`
	JSON        bool     `name:"json" xor:"form" help:"Print the comparison as JSON."`
	Markdown    bool     `xor:"form" help:"Print it as Markdown, for a pull request."`
	Page        string   `placeholder:"FILE" help:"Also draw both ledgers on one page, side by side."`
	Strict      bool     `help:"Exit with 3 if anything moved."`
}

func (*compareVerb) help() verbHelp {
	return verbHelp{
		about: `Compares two ledgers: what became of each master, what was changed in the
release, then which figures moved at the stages, losses first. Listening trials
whose files have changed since are named.`,
		example: `git show HEAD:./masters/ledger.json | ledgerline compare - masters/ledger.json`,
		exits: []exit{
			{exitDone, "compared"},
			{exitFailed, "the page could not be written"},
			{exitUsage, "the command line is wrong, or there is no ledger there"},
			{exitRequirement, "with --strict: something moved"},
		},
	}
}

func (v *compareVerb) run(_ context.Context, s *streams) error {
	if v.Old == "-" && v.New == "-" {
		return wrongUsage("one of the two has to be a file", "compare: both ledgers from standard input")
	}
	was, err := s.stored(v.Old)
	if err != nil {
		return err
	}
	is, err := s.stored(v.New)
	if err != nil {
		return err
	}
	c := ledger.Compare(was, is, float64(v.ToleranceDB))
	trials, notes := trialsOf(v.Old, v.New)
	s.note(notes)
	c.Trials = outdated(trials, is)
	if err := v.print(s, &c); err != nil {
		return err
	}
	if err := v.draw(was, is, &c, trials); err != nil {
		return err
	}
	if v.Strict && c.Moved() {
		return &failure{code: exitRequirement}
	}
	return nil
}

// draw writes the page of both ledgers, if that was asked for.
func (v *compareVerb) draw(was, is *ledger.Ledger, c *ledger.Comparison, trials []trial.Result) error {
	if v.Page == "" {
		return nil
	}
	old, err := recordsFor(v.Old, was)
	if err != nil {
		return err
	}
	new, err := recordsFor(v.New, is)
	if err != nil {
		return err
	}
	both := page.Compare(was, old, is, new, c)
	both.Trials = trials
	return writePage(v.Page, both)
}

// recordsFor are the records along the tracks of a ledger; of one from standard input there are none.
func recordsFor(path string, l *ledger.Ledger) ([]*along.Record, error) {
	if path == "-" {
		return nil, nil
	}
	records, err := alongOf(path, l)
	if err != nil {
		return nil, &failure{code: exitUsage, err: err}
	}
	return records, nil
}

func (v *compareVerb) print(s *streams, c *ledger.Comparison) error {
	switch {
	case v.JSON:
		return c.Encode(s.out)
	case v.Markdown:
		return c.Markdown(s.out)
	}
	return printer(s.out).Comparison(c)
}
