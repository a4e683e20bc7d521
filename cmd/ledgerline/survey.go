package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/survey"
)

type surveyVerb struct {
	Release string   `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file or folder; default: ${release} in this folder."`
	Set     string   `placeholder:"STAGE.KEY" help:"The setting, such as drive.gain_db."`
	From    *number  `placeholder:"X" help:"Its first value."`
	To      *number  `placeholder:"X" help:"Its last value."`
	Step    *number  `placeholder:"X" help:"How far it is from one value to the next."`
	Target  string   `placeholder:"FIGURE=X" help:"Solve for the value at which a figure is X, between --from\nand --to: loudness_lufs, removed_db, clipped_percent,\nnoise_to_mask_db or disturbed_percent."`
	Level   bool     `help:"Bring the loudest mix to the target; the others stay as far\nbelow it in loudness as they are."`
	Limit   []string `placeholder:"KEY=X" sep:"none" help:"A requirement besides those of the chain, such as\ndisturbed_max_percent=1; may be repeated."`
	Track   []string `placeholder:"NAME" sep:"none" help:"Only this track; may be repeated."`
	Variant []string `placeholder:"NAME" sep:"none" help:"Also this variant, beside the release's own chain; may be\nrepeated."`
	Jobs    count    `default:"${jobs}" placeholder:"N" help:"Use N processors; default: ${jobs}, all there are."`
	Quiet   bool     `help:"No progress and no notes."`
	JSON    bool     `name:"json" help:"Print the survey as JSON."`
	TOML    bool     `name:"toml" help:"Print the answers as tables [track.\"NAME\"] to paste."`
	Write   bool     `help:"Write the answers into the release file."`
}

func (*surveyVerb) help() verbHelp {
	return verbHelp{
		about: `Runs each track through the release's own chain with one setting at many values,
keeps no audio, and prints what each value buys and costs. A mark shows the
deepest value that keeps every requirement of the chain and every --limit: the
largest one or, for a ceiling, the lowest. With --target it looks for the value
at which a figure is what you want. If that fails a requirement, it also looks
for the nearest value that keeps them all. What the flags leave out is taken
from the table [survey] of the release file.`,
		example: `ledgerline survey examples/night-ferry/release.toml --set drive.gain_db \
    --from 0 --to 9 --step 1 --limit disturbed_max_percent=1`,
		exits: []exit{
			{exitDone, "surveyed"},
			{exitFailed, "a track could not be surveyed; the others were"},
			{exitUsage, "the command line or the release file is wrong"},
			{exitRequirement, "for a track, no value keeps every requirement or reaches the target"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP)"},
		},
	}
}

func (v *surveyVerb) run(ctx context.Context, s *streams) error {
	if v.JSON && v.TOML {
		return wrongUsage("", "survey: --json and --toml can't be used together")
	}
	rel, err := s.load(v.Release, true)
	if err != nil {
		return err
	}
	o, err := v.options(rel)
	if err != nil {
		return err
	}
	ended := func() {}
	if !v.Quiet {
		o.Progress, ended = s.surveyProgress(rel)
	}
	found, errs, err := survey.Run(ctx, rel, o)
	ended()
	var wrong *survey.OptionError
	if errors.As(err, &wrong) {
		return wrongUsage(wrong.Hint, "survey: %s", wrong.Text)
	}
	if found == nil {
		return err
	}
	if !v.Quiet {
		s.note(found.Notes)
	}
	for _, err := range errs {
		fmt.Fprintf(s.err, "ledgerline: %v\n", err)
	}
	if unprinted := v.print(s, found); unprinted != nil {
		return unprinted
	}
	if err != nil {
		fmt.Fprintf(s.err, "interrupted: %s known\n", many(found.Known(), "value"))
		return err
	}
	if err := v.write(s, found); err != nil {
		return err
	}
	if len(errs) > 0 {
		return failed(errs...)
	}
	if found.Failed() {
		return &failure{code: exitRequirement}
	}
	return nil
}

// options are what the command line says, and where it says nothing the release's [survey].
func (v *surveyVerb) options(rel *release.Release) (survey.Options, error) {
	o := survey.Options{
		Set: cmp.Or(v.Set, rel.Survey.Set), Target: v.Target, Level: v.Level,
		Tracks: v.Track, Variants: v.Variant, Limits: v.Limit, Jobs: int(v.Jobs),
	}
	if o.Set == "" {
		return o, wrongUsage("it may also be in the release file, in a table [survey]", "survey: --set is missing")
	}
	if v.Target != "" && v.Step != nil {
		return o, wrongUsage("leave out one of the two",
			"survey: --step is for values that are stepped through, and --target solves for one")
	}
	given := func(given *number, written *float64) *float64 {
		if given == nil {
			return written
		}
		return new(float64(*given))
	}
	o.From, o.To, o.Step = given(v.From, rel.Survey.From), given(v.To, rel.Survey.To),
		given(v.Step, rel.Survey.Step)
	return o, nil
}

func (v *surveyVerb) print(s *streams, found *survey.Survey) error {
	switch {
	case v.JSON:
		return ledger.EncodeJSON(s.out, found)
	case v.TOML:
		_, err := io.WriteString(s.out, found.TOML())
		return err
	}
	return found.Print(printer(s.out))
}

// write puts the answers into the release file, if that was asked for.
func (v *surveyVerb) write(s *streams, found *survey.Survey) error {
	if !v.Write {
		return nil
	}
	path := releaseIn(v.Release)
	changes := found.Changes()
	if len(changes) == 0 {
		fmt.Fprintf(s.err, "%s stays as it is: %s\n", path, found.Unanswered())
		return nil
	}
	if err := release.SetForTracks(path, changes); err != nil {
		return &failure{code: exitFailed, hint: "ledgerline survey --toml prints the tables to paste", err: err}
	}
	if !v.Quiet {
		fmt.Fprintf(s.err, "%s of %s written to %s\n", found.Setting, many(len(changes), "track"), path)
	}
	return nil
}

// surveyProgress shows on a terminal how a survey goes; ended ends that.
func (s *streams) surveyProgress(rel *release.Release) (tell func(survey.Event), ended func()) {
	f, columns, ok := terminal(s.err)
	if !ok {
		return nil, func() {}
	}
	b := newBars(f, columns)
	b.title, b.quiet = rel.Title, true
	steps := map[survey.Step]pipeline.Step{
		survey.Begun: pipeline.Begun, survey.Advanced: pipeline.Advanced, survey.Ended: pipeline.Ended,
	}
	return func(e survey.Event) {
		if e.Step == survey.Planned {
			b.hear(pipeline.Event{Step: pipeline.Deciding, Count: e.Count})
			return
		}
		b.hear(pipeline.Event{
			Step: steps[e.Step], Render: e.Render, Count: e.Count, Result: pipeline.Result{State: pipeline.Rendered},
		})
	}, func() { b.hear(pipeline.Event{Step: pipeline.Done}) }
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
