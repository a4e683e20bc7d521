package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/survey"
)

type surveyVerb struct {
	Release string   `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file; default: ${release} in this folder."`
	Set     string   `placeholder:"STAGE.KEY" help:"The setting, such as drive.gain_db."`
	From    *number  `placeholder:"X" help:"Its first value."`
	To      *number  `placeholder:"X" help:"Its last value."`
	Step    *number  `placeholder:"X" help:"From one value to the next."`
	Limit   []string `placeholder:"KEY=X" sep:"none" help:"A requirement beside those of the chain, such as\ndisturbed_max_percent=1; may be repeated."`
	Track   []string `placeholder:"NAME" sep:"none" help:"Only this track; may be repeated."`
	Jobs    count    `default:"${jobs}" placeholder:"N" help:"Processors to keep busy; default: ${jobs}."`
	JSON    bool     `name:"json" help:"Print the survey as JSON."`
}

func (*surveyVerb) help() verbHelp {
	return verbHelp{
		about: `Takes each track down the release's own chain with one setting at many values,
writes no file, and prints what each value buys and costs. Marked is the deepest
value that keeps every requirement of the chain and every --limit: the largest,
of a ceiling the lowest. What the flags leave out, the table [survey] of the
release file says.`,
		example: `ledgerline survey examples/night-ferry/release.toml --set drive.gain_db \
    --from 0 --to 9 --step 1 --limit disturbed_max_percent=1`,
		exits: []exit{
			{exitDone, "surveyed"},
			{exitFailed, "a track could not be surveyed; the others were"},
			{exitUsage, "the command line or the release file is wrong"},
			{exitRequirement, "of a track, no value keeps every requirement"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

func (v *surveyVerb) run(ctx context.Context, s *streams) error {
	rel, err := s.load(v.Release, true)
	if err != nil {
		return err
	}
	o, err := v.options(rel)
	if err != nil {
		return err
	}
	found, errs, err := survey.Run(ctx, rel, o)
	var wrong *survey.OptionError
	if errors.As(err, &wrong) {
		return wrongUsage(wrong.Hint, "survey: %s", wrong.Text)
	}
	if err != nil {
		return err
	}
	s.note(found.Notes)
	for _, err := range errs {
		fmt.Fprintf(s.err, "ledgerline: %v\n", err)
	}
	if err := v.print(s, found); err != nil {
		return err
	}
	if len(errs) > 0 {
		return &failure{code: exitFailed}
	}
	for _, t := range found.Tracks {
		if t.Answer == nil && t.FirstFailure != nil {
			return &failure{code: exitRequirement}
		}
	}
	return nil
}

// options are what the command line says, and where it says nothing the release's [survey].
func (v *surveyVerb) options(rel *release.Release) (survey.Options, error) {
	o := survey.Options{Set: cmp.Or(v.Set, rel.Survey.Set), Tracks: v.Track, Limits: v.Limit, Jobs: int(v.Jobs)}
	missing := ""
	take := func(name string, given *number, written *float64) (x float64) {
		switch {
		case given != nil:
			return float64(*given)
		case written != nil:
			return *written
		}
		missing = cmp.Or(missing, name)
		return 0
	}
	if o.Set == "" {
		missing = "--set"
	}
	o.From = take("--from", v.From, rel.Survey.From)
	o.To = take("--to", v.To, rel.Survey.To)
	o.Step = take("--step", v.Step, rel.Survey.Step)
	if missing != "" {
		return o, wrongUsage("it may also be in the release file, in a table [survey]", "survey: %s is missing", missing)
	}
	return o, nil
}

func (v *surveyVerb) print(s *streams, found *survey.Survey) error {
	if v.JSON {
		return ledger.EncodeJSON(s.out, found)
	}
	return found.Print(printer(s.out))
}

// number is a finite number.
type number float64

func (n *number) UnmarshalText(text []byte) error {
	x, err := strconv.ParseFloat(string(text), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return fmt.Errorf("%q is not a number", text)
	}
	*n = number(x)
	return nil
}
