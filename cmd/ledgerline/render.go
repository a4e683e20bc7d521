package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
)

// choice is what render and watch both let the user choose.
type choice struct {
	Jobs           count    `placeholder:"N" help:"Keep N processors busy; default: ${jobs}, all there are here."`
	Track          []string `placeholder:"NAME" sep:"none" help:"Only this track; may be repeated."`
	Variant        []string `placeholder:"NAME" sep:"none" help:"Only this variant; may be repeated."`
	Removed        bool     `help:"Also write what the chain took away."`
	AllowNonfinite bool     `help:"Take zeros for samples that are not finite."`
	Replace        bool     `help:"Replace files that this release did not write."`
}

func (c choice) options() pipeline.Options {
	return pipeline.Options{
		Jobs:           int(c.Jobs),
		AllowNonFinite: c.AllowNonfinite,
		Tracks:         c.Track,
		Variants:       c.Variant,
		Removed:        c.Removed,
		Replace:        c.Replace,
		Tool:           tool,
	}
}

func defaultJobs() string { return fmt.Sprint(runtime.GOMAXPROCS(0)) }

type renderVerb struct {
	Release string `arg:"" optional:"" must:"" default:"${release}" name:"RELEASE" files:"toml" help:"The release file; default: ${release} in this folder."`
	choice
	Force    bool         `help:"Render what is up to date too."`
	Full     bool         `help:"Print the tables of tracks that were kept, too."`
	JSON     bool         `name:"json" help:"Print the ledger instead of tables."`
	Progress progressForm `placeholder:"FORM" help:"json: write what is finished to standard error as JSON."`
}

func (*renderVerb) help() verbHelp {
	return verbHelp{
		about: `Renders every track of a release that is not up to date, and writes the ledger
beside the masters. Then prints a table for each track that was rendered.`,
		example: "ledgerline render examples/night-ferry/release.toml",
		exits: []exit{
			{exitDone, "everything is rendered or was up to date"},
			{exitFailed, "something failed; the other tracks were rendered"},
			{exitUsage, "the command line or the release file is wrong; nothing was rendered"},
			{exitRequirement, "a requirement failed; everything was rendered"},
			{exitInterrupted, "interrupted (143 by SIGTERM, 129 by SIGHUP); no file is half written"},
		},
	}
}

func (v *renderVerb) run(ctx context.Context, s *streams) error {
	release, err := s.load(v.Release)
	if err != nil {
		return err
	}
	s.note(release.MixNotes())
	o := v.options()
	o.Force = v.Force
	if v.Progress == progressJSON {
		o.Journal = func(line []byte) { _, _ = s.err.Write(line) }
	} else {
		o.Progress = s.progress(release)
	}
	out, err := pipeline.RenderRelease(ctx, release, o)
	if out == nil || err != nil && ctx.Err() != nil {
		return s.stopped(out, err)
	}
	judged := out.Judged()
	unprinted := v.print(s.out, out, judged)
	out.Notes = append(out.Notes, release.SilentMixes(out.Results)...)
	s.tell(out, judged)
	if err := errors.Join(err, unprinted); err != nil {
		return err
	}
	return verdict(out, judged)
}

// stopped is the error of a run that could not be done or was interrupted.
func (s *streams) stopped(out *pipeline.Outcome, err error) error {
	var choice *pipeline.ChoiceError
	if errors.As(err, &choice) {
		return &failure{code: exitUsage, hint: "ledgerline check RELEASE lists the tracks and variants", err: err}
	}
	if out != nil {
		fmt.Fprintf(s.err, "interrupted: %s\n", results(out.Results))
		s.note(out.Notes)
	}
	return err
}

// print writes the ledger, or the tables of what was rendered and the summary of
// what is judged.
func (v *renderVerb) print(w io.Writer, out *pipeline.Outcome, judged *ledger.Ledger) error {
	if v.JSON {
		return out.Ledger.Encode(w)
	}
	p := ledger.Printer{Out: w, Colour: coloured(w)}
	variants := false
	for _, r := range out.Results {
		variants = variants || r.Variant != ""
		t := entry(judged, r)
		if t == nil || r.State != pipeline.Rendered && !v.Full {
			continue
		}
		if err := p.Track(t); err != nil {
			return err
		}
		fmt.Fprintln(w)
	}
	if variants {
		if err := p.Variants(out.Ledger); err != nil {
			return err
		}
		fmt.Fprintln(w)
	}
	return p.Summary(judged)
}

// entry is the ledger's entry of a render; nil: it has none.
func entry(l *ledger.Ledger, r pipeline.Result) *ledger.Track {
	for i := range l.Tracks {
		if t := &l.Tracks[i]; t.Name == r.Track && t.Variant == r.Variant {
			return t
		}
	}
	return nil
}

// tell names what was kept, what failed and what to beware of.
func (s *streams) tell(out *pipeline.Outcome, judged *ledger.Ledger) {
	fmt.Fprintln(s.err, results(out.Results))
	s.note(out.Notes)
	for _, r := range out.Results {
		for _, text := range r.Warnings {
			fmt.Fprintf(s.err, "warning: %s\n", text)
		}
	}
	for _, r := range out.Results {
		if r.State == pipeline.Failed {
			fmt.Fprintf(s.err, "ledgerline: %v\n", r.Err)
		}
		if t := entry(judged, r); t != nil {
			for _, q := range t.Requirements {
				if !q.Passed {
					fmt.Fprintf(s.err, "ledgerline: %s, %s: %s\n", r.Label(), q.Stage, q)
				}
			}
		}
	}
}

// verdict is the error that an outcome calls for. All has been said by then.
func verdict(out *pipeline.Outcome, judged *ledger.Ledger) error {
	switch {
	case out.Failed() > 0:
		return &failure{code: exitFailed}
	case judged.Totals.RequirementsFailed > 0:
		return &failure{code: exitRequirement}
	}
	return nil
}
