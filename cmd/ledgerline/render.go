package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"

	"ledgerline/pipeline"
	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
)

// choice has the flags that render and watch share.
type choice struct {
	Jobs           count    `placeholder:"N" help:"Use N processors; default: ${jobs}, all there are."`
	Track          []string `placeholder:"NAME" sep:"none" help:"Only this track; may be repeated."`
	Variant        []string `placeholder:"NAME" sep:"none" help:"Only what is made of this variant; may be repeated."`
	Delivery       []string `placeholder:"NAME" sep:"none" help:"Only this delivery; may be repeated."`
	Removed        bool     `help:"Also write what the chain removed."`
	AllowNonfinite bool     `help:"Replace NaN and infinite samples with zero."`
	Replace        bool     `help:"Replace files that this release did not write."`
}

func (c choice) options() pipeline.Options {
	return pipeline.Options{
		Jobs:           int(c.Jobs),
		AllowNonFinite: c.AllowNonfinite,
		Tracks:         c.Track,
		Variants:       c.Variant,
		Deliveries:     c.Delivery,
		Removed:        c.Removed,
		Replace:        c.Replace,
		Tool:           tool,
	}
}

func defaultJobs() string { return fmt.Sprint(runtime.GOMAXPROCS(0)) }

type renderVerb struct {
	Release string `arg:"" optional:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file or folder; default: ${release} in this folder."`
	choice
	Part      part         `placeholder:"K/N" help:"Only the K-th of N parts, and no ledger; see below."`
	Force     bool         `help:"Also render what is up to date."`
	Full      bool         `help:"Print the stage tables of all tracks."`
	Quiet     bool         `help:"Print only warnings, failures and the last line."`
	RunCoders bool         `help:"Take deliveries through their coders and read the result."`
	JSON      bool         `name:"json" help:"Print the ledger instead of tables."`
	Progress  progressForm `placeholder:"FORM" help:"json: report each render on standard error as JSON."`
}

func (*renderVerb) help() verbHelp {
	return verbHelp{
		about: `Renders every track of a release that is not up to date, and writes the ledger
beside the masters. Then prints a stage table for each track that was rendered;
for more than six tracks, a row each. What failed comes after that, and the
verdict is the last line.

With --part 3/8, renders the third of eight parts of the release: all parts can
run at the same time, on several machines, and a part can be run again. A render
without --part then renders what is missing and writes the ledger.`,
		example: "ledgerline render examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "everything is rendered or was up to date"},
			{exitFailed, "something failed; the other tracks were rendered"},
			{exitUsage, "the command line or the release file is wrong; nothing was rendered"},
			{exitRequirement, "a requirement failed; everything was rendered"},
			{exitTemporary, "the folder is in use, or a disk or the network failed: try again"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP); no file is half written"},
		},
	}
}

func (v *renderVerb) run(ctx context.Context, s *streams) error {
	rel, err := s.load(v.Release, v.Quiet)
	if err != nil {
		return err
	}
	o := v.options()
	o.Force = v.Force
	o.RunCoders = v.RunCoders
	o.Part = fresh.Part(v.Part)
	if !v.Quiet {
		s.note(rel.MixNotes())
	}
	switch {
	case v.Progress == progressJSON:
		o.Progress = func(e pipeline.Event) {
			if e.Step == pipeline.Noted {
				_, _ = s.err.Write(e.Line)
			}
		}
	case !v.Quiet:
		o.Progress = s.progress(rel)
	}
	out, err := pipeline.RenderRelease(ctx, rel, o)
	if out == nil || err != nil && ctx.Err() != nil {
		return s.stopped(out, err)
	}
	judged := out.Judged()
	unprinted := v.print(s.out, out, judged)
	out.Notes = append(out.Notes, append(rel.SilentMixes(out.Silent), out.DrivenFar()...)...)
	s.tell(out, judged, v.Quiet)
	if unprinted == nil {
		unprinted = v.printVerdict(s, out, judged)
	}
	if err := errors.Join(err, unprinted); err != nil {
		return &failure{code: codeOf(append([]error{err}, out.Errors()...)...), err: err}
	}
	return verdict(out, judged)
}

// printVerdict prints the last line. A part can be without tracks, because their names alone decide on their part.
func (v *renderVerb) printVerdict(s *streams, out *pipeline.Outcome, judged *ledger.Ledger) error {
	last := s.out
	if v.JSON {
		last = s.err
	}
	if len(out.Results) > 0 || v.Part == (part{}) {
		return printer(last).Verdict(judged, out.Failed())
	}
	what := "no track"
	if len(v.Track)+len(v.Variant)+len(v.Delivery) > 0 {
		what = "nothing that was chosen"
	}
	_, err := fmt.Fprintf(last, "%s: %s is in part %v\n", judged.Title, what, fresh.Part(v.Part))
	return err
}

// stopped is the error of a run that could not be done or was interrupted.
func (s *streams) stopped(out *pipeline.Outcome, err error) error {
	var choice *pipeline.ChoiceError
	if errors.As(err, &choice) {
		return &failure{code: exitUsage, hint: "ledgerline check RELEASE lists the tracks, variants and deliveries", err: err}
	}
	if out != nil {
		s.failures(out, out.Judged())
		s.note(out.Notes)
		fmt.Fprintf(s.err, "interrupted: %s\n", halted(out.Results))
	}
	return err
}

// print writes the ledger, or the tables of the chosen entries.
func (v *renderVerb) print(w io.Writer, out *pipeline.Outcome, judged *ledger.Ledger) error {
	switch {
	case v.JSON:
		return out.Ledger.Encode(w)
	case v.Quiet:
		return nil
	}
	var entries []*ledger.Track
	var rendered []bool
	entry := entriesOf(judged)
	results := slices.Clone(out.Results)
	ledger.SortByOrder(results, judged.InOrder(), func(r pipeline.Result) string { return r.Track })
	for _, r := range results {
		if t := entry(r); t != nil {
			entries, rendered = append(entries, t), append(rendered, r.State == pipeline.Rendered)
		}
	}
	if err := tables(printer(w), judged.Order, entries, v.Full, func(i int) bool { return rendered[i] }); err != nil {
		return err
	}
	return coders(printer(w), entries, v.Full)
}

// entriesOf finds the ledger's entry of a render; nil: it has none.
func entriesOf(l *ledger.Ledger) func(pipeline.Result) *ledger.Track {
	type key struct{ track, variant, delivery string }
	all := make(map[key]*ledger.Track, len(l.Tracks))
	for i := range l.Tracks {
		t := &l.Tracks[i]
		all[key{t.Name, t.Variant, t.Delivery}] = t
	}
	return func(r pipeline.Result) *ledger.Track { return all[key{r.Track, r.Variant, r.Delivery}] }
}

// tell reports how many were rendered and kept, the warnings and the failures.
func (s *streams) tell(out *pipeline.Outcome, judged *ledger.Ledger, quiet bool) {
	if !quiet {
		if len(out.Results) > 0 {
			fmt.Fprintln(s.err, results(out.Results))
		}
		s.note(out.Notes)
	}
	s.failures(out, judged)
}

// failures reports each warning and each failure, once.
func (s *streams) failures(out *pipeline.Outcome, judged *ledger.Ledger) {
	for _, r := range out.Results {
		for _, text := range r.Warnings {
			fmt.Fprintf(s.err, "warning: %s\n", text)
		}
	}
	entry := entriesOf(judged)
	for _, r := range out.Results {
		if r.State == pipeline.Failed {
			fmt.Fprintf(s.err, "ledgerline: %v\n", r.Err)
		}
		if t := entry(r); t != nil {
			for _, text := range t.FailedRequirements() {
				fmt.Fprintf(s.err, "ledgerline: %s\n", text)
			}
		}
	}
}

// verdict is the error for an outcome. Everything has been reported by then.
func verdict(out *pipeline.Outcome, judged *ledger.Ledger) error {
	switch {
	case out.Failed() > 0:
		return failed(out.Errors()...)
	case judged.Totals.RequirementsFailed > 0:
		return &failure{code: exitRequirement}
	}
	return nil
}
