package page

import (
	"fmt"
	"html/template"
	"strings"

	"ledgerline/pipeline/ledger"
)

// view is what the layout is filled with.
type view struct {
	Title, Tool, Release string
	Style                template.CSS
	Script               template.JS
	Verdict              verdict
	Facts                string
	Changes              *changed // nil: nothing is compared
	Glance               glance
	Order                *order
	Tracks               []trackView
	Files                table
}

type trackView struct {
	ID, Name, Facts string
	One             bool // it has one chain
	Pairs           bool // its chains are of two ledgers
	Cards           []card
	Balance         *balance
	Surveys         []curve
	Lanes           *lanes
	Cuts, Moments   []gallery
	Delivered       *table
	Coded           *table
	Requirements    *table
	Chains          []table
	Heard           *heard
}

// card is one chain of a track.
type card struct {
	Chain, Net, Line, Judged string
	Bad                      bool
	Alone                    bool // among pairs of two ledgers
	Pictures                 []picture
}

// changed is what a comparison says.
type changed struct {
	Summary string
	List    []string // what was changed in the release, and listening trials of other files
	Text    string   // all that it prints
}

func (s *sheet) view(c Content) (view, error) {
	style, script := read("page.css"), read("page.js")
	v := view{
		Title: s.ledger.Title, Tool: s.ledger.Tool, Release: s.ledger.ReleaseSHA256, Style: template.CSS(style),
		Script:  template.JS(script),
		Verdict: s.verdict(), Facts: s.facts(), Glance: s.glance(), Order: s.order(), Files: s.files(),
	}
	if c.Changes != nil {
		var err error
		if v.Changes, err = changes(c.Changes); err != nil {
			return v, err
		}
	}
	for _, t := range s.tracks {
		v.Tracks = append(v.Tracks, s.track(t))
	}
	return v, nil
}

func read(name string) string {
	text, err := files.ReadFile(name)
	if err != nil {
		panic("internal error: the page's own file: " + err.Error())
	}
	return string(text)
}

func (s *sheet) track(t *track) trackView {
	first := t.all()[0]
	v := trackView{ID: t.id, Name: t.name, One: len(t.renders) == 1, Balance: s.balance(t),
		Surveys: s.survey.curves(t), Lanes: s.lanes(t),
		Cuts: s.cuts(t), Moments: s.moments(t), Delivered: t.delivered(), Coded: t.coded(),
		Requirements: t.requirements(), Heard: s.heard(t)}
	v.Facts = fmt.Sprintf("%s, %d Hz, %s; the mix is at %s LUFS, its peak at %s dBFS.",
		clock(first.Source.DurationS, 1), first.Source.RateHz,
		many(first.Source.Channels, "channel"), figure(first.first().LoudnessLUFS, 1),
		figure(first.first().SamplePeakDBFS, 2))
	least, most := s.heights(t)
	for _, r := range t.renders {
		c := s.card(t, r, least, most)
		v.Pairs = v.Pairs || r.old
		c.Alone = !t.paired(r)
		v.Cards = append(v.Cards, c)
	}
	for _, r := range t.all() {
		v.Chains = append(v.Chains, r.chainFigures())
	}
	return v
}

func (s *sheet) card(t *track, r *render, least, most float64) card {
	w := r.whole()
	c := card{Chain: r.chain, Net: signed(value(w.NetDB), 2)}
	c.Line = fmt.Sprintf("%s LUFS, %s dBTP; %s dB removed", figure(r.last().LoudnessLUFS, 1),
		figure(r.last().TruePeakDBTP, 2), figure(w.RemovedDB, 1))
	if w.Audibility != nil {
		c.Line += fmt.Sprintf(", noise to mask %s dB, %s %% disturbed", figure(w.Audibility.NoiseToMaskDB, 1),
			fixed(w.Audibility.DisturbedPercent, 1))
	}
	c.Line += "."
	if unmet := r.unmet(); unmet != "" {
		c.Judged, c.Bad = "✗ "+unmet, true
	} else {
		c.Judged, _ = r.judged()
	}
	for _, p := range []picture{s.staircase(t, r, least, most), s.levels(t, r), s.spectrum(r)} {
		if p.Picture != nil || p.Caption != "" {
			c.Pictures = append(c.Pictures, p)
		}
	}
	return c
}

// changes are what a comparison says.
func changes(c *ledger.Comparison) (*changed, error) {
	v := &changed{Summary: c.Summary()}
	for _, one := range c.Changes {
		v.List = append(v.List, one.Line())
	}
	for i := range c.Trials {
		v.List = append(v.List, c.Trials[i].String())
	}
	var out strings.Builder
	err := ledger.Printer{Out: &out, Columns: 110}.Comparison(c)
	v.Text = out.String()
	return v, err
}
