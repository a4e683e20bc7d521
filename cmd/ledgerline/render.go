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
	"ledgerline/pipeline/release"
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
	Part      part         `placeholder:"K/N" help:"Only the K-th of N parts, and no ledger; see above."`
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
beside the masters. Then prints a stage table for each master that was rendered;
for more than six, a row each. What failed comes after that, and the
verdict is the last line.

With --part 3/8, renders the third of eight parts of the release: all parts can
run at the same time, on several machines, and a part can be run again. A render
without --part then renders what is missing and writes the ledger.`,
		example: "ledgerline render examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "everything is rendered or was up to date"},
			{exitFailed, "something failed; the other tracks were rendered"},
			{
				exitUsage, "the command line, the release file or the ledger is wrong;\n" +
					"nothing was rendered",
			},
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
	o.Brief = v.Quiet && !v.JSON || v.rowsOnly(rel)
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
	out.Notes = append(out.Notes, append(rel.SilentMixes(out.Silent()), out.DrivenFar()...)...)
	s.tell(out, judged, v.Quiet)
	if unprinted == nil {
		unprinted = v.printVerdict(s, out, judged)
	}
	if err := errors.Join(err, unprinted); err != nil {
		return &failure{code: codeOf(append([]error{err}, out.Errors()...)...), err: err}
	}
	return verdict(out, judged)
}

// printVerdict prints the last line. A part can be without tracks, because their names alone decide on their
// part.
func (v *renderVerb) printVerdict(s *streams, out *pipeline.Outcome, judged *ledger.Brief) error {
	last := s.out
	if v.JSON {
		last = s.err
	}
	if len(out.Results) > 0 || v.Part == (part{}) {
		var papers []string
		for _, p := range out.Unwritten {
			papers = append(papers, p.File)
		}
		return printer(last).Verdict(judged, out.Failed(), papers)
	}
	what := "no track"
	if len(v.Track)+len(v.Variant)+len(v.Delivery) > 0 {
		what = "nothing that was chosen"
	}
	_, err := fmt.Fprintf(last, "%s: %s is in part %v\n", judged.Title, what, fresh.Part(v.Part))
	return err
}

// rowsOnly says whether the renders of a release would have a row each and no table, had none of them to be
// rendered.
func (v *renderVerb) rowsOnly(rel *release.Release) bool {
	if v.Full || v.JSON || v.Track != nil || v.Variant != nil || v.Delivery != nil {
		return false
	}
	own := 0
	for i := range rel.Renders {
		if rel.Renders[i].Main == nil {
			own++
		}
	}
	return own > mostTables
}

// stopped is the error of a run that could not be done or was interrupted.
func (s *streams) stopped(out *pipeline.Outcome, err error) error {
	var choice *pipeline.ChoiceError
	if errors.As(err, &choice) {
		return &failure{
			code: exitUsage, hint: "ledgerline check RELEASE lists the tracks, variants and deliveries", err: err,
		}
	}
	if out != nil {
		s.failures(out, out.Judged())
		s.note(out.Notes)
		fmt.Fprintf(s.err, "interrupted: %s\n", halted(out.Results))
	}
	return err
}

// print writes the ledger, or the tables of the chosen entries.
func (v *renderVerb) print(w io.Writer, out *pipeline.Outcome, judged *ledger.Brief) error {
	switch {
	case v.Quiet && !v.JSON, out.Ledger == nil && len(judged.Rows) == 0:
		return nil
	case v.JSON:
		return out.Ledger.Encode(w)
	case out.Ledger == nil:
		return rowTable(printer(w), ordered(judged, out.Results))
	}
	var entries []*ledger.Track
	var rendered []bool
	entry := entriesOf(out.Ledger.Tracks, func(t *ledger.Track) key {
		return key{t.Name, t.Variant, t.Delivery}
	})
	row := judgedRow(judged)
	results := slices.Clone(out.Results)
	ledger.SortByOrder(results, out.Ledger.InOrder(), func(r pipeline.Result) string { return r.Track })
	for _, r := range results {
		if row(r) != nil {
			entries, rendered = append(entries, entry(r)), append(rendered, r.State == pipeline.Rendered)
		}
	}
	tabled := func(i int) bool { return rendered[i] }
	if err := tables(printer(w), out.Ledger.Order, entries, v.Full, tabled); err != nil {
		return err
	}
	return coders(printer(w), entries, v.Full)
}

// key tells the renders of a release apart.
type key struct{ track, variant, delivery string }

// entriesOf finds what a list has of a render; nil: nothing.
func entriesOf[T any](list []T, keyOf func(*T) key) func(pipeline.Result) *T {
	all := make(map[key]*T, len(list))
	for i := range list {
		all[keyOf(&list[i])] = &list[i]
	}
	return func(r pipeline.Result) *T { return all[key{r.Track, r.Variant, r.Delivery}] }
}

// judgedRow finds the row of a render that is judged; nil: it is not.
func judgedRow(judged *ledger.Brief) func(pipeline.Result) *ledger.Row {
	return entriesOf(judged.Rows, func(r *ledger.Row) key { return key{r.Name, r.Variant, r.Delivery} })
}

// ordered are the rows of the renders that are judged, in the order of the results.
func ordered(judged *ledger.Brief, results []pipeline.Result) (rows []ledger.Row) {
	row := judgedRow(judged)
	for _, r := range results {
		if x := row(r); x != nil {
			rows = append(rows, *x)
		}
	}
	return rows
}

// tell reports how many were rendered and kept, the warnings and the failures.
func (s *streams) tell(out *pipeline.Outcome, judged *ledger.Brief, quiet bool) {
	if !quiet {
		if len(out.Results) > 0 {
			fmt.Fprintln(s.err, results(out.Results))
		}
		s.note(out.Notes)
	}
	s.failures(out, judged)
}

// failures reports each warning and each failure, once.
func (s *streams) failures(out *pipeline.Outcome, judged *ledger.Brief) {
	for _, r := range out.Results {
		for _, text := range r.Warnings {
			fmt.Fprintf(s.err, "warning: %s\n", text)
		}
	}
	row, lines := judgedRow(judged), failureLines(out.Results)
	for i, r := range out.Results {
		if line, ok := lines[i]; ok {
			fmt.Fprintf(s.err, "ledgerline: %s\n", line)
		}
		if x := row(r); x != nil {
			for _, text := range x.FailedRequirements() {
				fmt.Fprintf(s.err, "ledgerline: %s\n", text)
			}
		}
	}
	for _, p := range out.Unwritten {
		fmt.Fprintf(s.err, "ledgerline: %v\n", p.Err)
	}
}

// verdict is the error for an outcome. Everything has been reported by then.
func verdict(out *pipeline.Outcome, judged *ledger.Brief) error {
	switch errs := out.Errors(); {
	case len(errs) > 0:
		return failed(errs...)
	case judged.Totals.RequirementsFailed > 0:
		return &failure{code: exitRequirement}
	}
	return nil
}
