package main

import (
	"errors"
	"slices"
	"strings"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
	"ledgerline/stages"
)

// planSchema is the version of the plan's JSON form.
const planSchema = 1

// plan is what a render would do.
type plan struct {
	Schema      int                `json:"schema"`
	Title       string             `json:"title"`
	CeilingDBFS float64            `json:"ceiling_dbfs"`
	Folder      string             `json:"folder"` // as the release file has it
	Encoding    audiofile.Encoding `json:"encoding"`
	// the variants are also written at one loudness
	MatchLoudness bool `json:"match_loudness"`
	Removed       bool `json:"removed"` // what the chain removed is also written
	// tracks that run into each other, in their order
	Continuous [][]string     `json:"continuous,omitempty"`
	Tracks     []plannedTrack `json:"tracks"`
	// that deliveries go through, only with render --run-coders
	Coders   []plannedCoder   `json:"coders,omitempty"`
	Papers   []pipeline.Paper `json:"papers,omitempty"` // texts that go out with the files of deliveries
	LeftOver pipeline.Left    `json:"left_over"`        // files of this release that no longer belong to it
	Notes    []string         `json:"notes"`            // what is legal but odd, with its line

	order []string // of the tracks; nil: by name
}

// stale says whether a render would write something.
func (p *plan) stale() bool {
	return slices.ContainsFunc(p.Tracks, func(t plannedTrack) bool { return t.Stale }) ||
		slices.ContainsFunc(p.Papers, func(x pipeline.Paper) bool { return x.Stale })
}

// plannedTrack is one mix and the render of it by one variant of the chain, or by a delivery.
type plannedTrack struct {
	Name     string             `json:"name"`
	Variant  string             `json:"variant,omitempty"`  // empty: the release's own chain
	Delivery string             `json:"delivery,omitempty"` // empty: the variant's own render
	Encoding audiofile.Encoding `json:"encoding,omitempty"` // of a delivery; else that of the release
	Source   plannedMix         `json:"source"`
	Output   string             `json:"output"` // as the release file would write it
	Stale    bool               `json:"stale"`
	Why      string             `json:"why,omitempty"` // it is stale, or blocked
	// a file is in the way that the release did not write, or its group is not of one form
	Blocked bool         `json:"blocked,omitempty"`
	Chain   []stages.Use `json:"chain"`

	label   string // of the render
	version string // of the render
}

// plannedMix is what a mix's header says; its figures are 0 if it cannot be read.
type plannedMix struct {
	File     string             `json:"file"`
	Error    string             `json:"error,omitempty"`
	Encoding audiofile.Encoding `json:"encoding"`
	RateHz   int                `json:"rate_hz"`
	Channels int                `json:"channels"`
	Frames   int64              `json:"frames"`
}

// newPlan is the plan of a release whose renders are in the given states. Its errors say
// which mixes cannot be read and which outputs cannot be written.
func newPlan(r *release.Release, standing *pipeline.Outcome) (*plan, []error) {
	p := &plan{
		Schema: planSchema, Title: r.Title, CeilingDBFS: r.CeilingDBFS,
		Folder: r.Output.FolderAsWritten, Encoding: r.Output.Encoding,
		MatchLoudness: r.Output.MatchLoudness, Removed: r.Output.Removed, Coders: plannedCoders(r),
		Tracks: []plannedTrack{}, order: r.Order, LeftOver: standing.Left, Papers: standing.Papers,
		Notes: slices.Concat([]string{}, r.Notes, r.MixNotes(), r.SilentMixes(standing.Silent()),
			standing.DrivenFar(), standing.Notes),
	}
	if note := standing.Left.Note(r.Path); note != "" {
		p.Notes = append(p.Notes, note)
	}
	for _, c := range p.Coders {
		p.Notes = append(p.Notes, c.Missing...)
	}
	var unreadable []error
	var forms []*track.FormError // told already
	for i, render := range r.Renders {
		t := plannedTrack{
			Name: render.Track, Variant: render.Variant, Delivery: render.Delivery, Chain: render.Chain,
			label: render.Label(), version: render.Version(),
			Output: p.Folder + strings.TrimPrefix(render.Output, r.Output.Folder),
			Stale:  standing.Results[i].State != pipeline.Kept, Why: whyStale(standing.Results[i]),
		}
		if render.Main != nil {
			t.Encoding = render.Encoding
		}
		var foreign *pipeline.ForeignError
		if err := standing.Results[i].Err; errors.As(err, &foreign) {
			t.Blocked, t.Why = true, foreign.Error()
			unreadable = append(unreadable, err)
		}
		var form *track.FormError
		if err := standing.Results[i].Err; errors.As(err, &form) {
			t.Blocked, t.Why = true, strings.TrimPrefix(t.Why, render.Label()+": ")
			if !slices.Contains(forms, form) {
				forms, unreadable = append(forms, form), append(unreadable, err)
			}
		}
		if c := render.Continuous; len(c) > 0 && c[0] == render.Track && render.Version() == "" {
			p.Continuous = append(p.Continuous, c)
		}
		if i > 0 && render.Track == r.Renders[i-1].Track {
			t.Source = p.Tracks[i-1].Source
		} else {
			var err error
			if t.Source, err = newPlannedMix(render); err != nil {
				unreadable = append(unreadable, err)
			}
		}
		if err := r.Unfit(&render, t.Source.RateHz); err != nil && t.Source.RateHz > 0 {
			t.Blocked, t.Why = true, err.Error()
			unreadable = append(unreadable, err)
		}
		if t.Source.Error != "" {
			t.Stale, t.Why = true, "the mix cannot be read: "+strings.TrimPrefix(t.Source.Error, render.Source+": ")
		}
		p.Tracks = append(p.Tracks, t)
	}
	for _, x := range p.Papers {
		if x.Err != nil {
			unreadable = append(unreadable, x.Err)
		}
	}
	return p, unreadable
}

// whyStale says why a render is stale, or why that cannot be found out.
func whyStale(r pipeline.Result) string {
	if r.State == pipeline.Failed {
		return r.Err.Error()
	}
	return r.Why
}

func newPlannedMix(r release.Render) (plannedMix, error) {
	m := plannedMix{File: r.SourceAsWritten}
	f, err := audiofile.Open(r.Source)
	if err != nil {
		m.Error = told(err)
		return m, err
	}
	defer f.Close()
	i := f.Info()
	m.Encoding, m.RateHz, m.Channels, m.Frames = i.Encoding, i.Rate, i.Channels, i.Frames
	return m, nil
}
