package page

import (
	"encoding/json"
	"fmt"
	"html/template"
	"math"
	"strings"

	"ledgerline/pipeline/ledger"
)

// Survey is what the verb survey prints as JSON, as far as a page draws it.
type Survey struct {
	Setting string `json:"setting"`
	Tracks  []struct {
		Name    string      `json:"name"`
		Variant string      `json:"variant"` // empty: the release's own chain
		Answer  *float64    `json:"answer"`  // the deepest value that keeps every requirement; nil: none
		Rows    []surveyRow `json:"rows"`    // by value, rising
	} `json:"tracks"`
}

type surveyRow struct {
	Value float64 `json:"value"`
	ledger.Whole
	LoudnessLUFS *float64 `json:"loudness_lufs"`
	TruePeakDBTP *float64 `json:"true_peak_dbtp"`
	Passed       bool     `json:"passed"`
}

// ParseSurvey reads what the verb survey prints as JSON. Of what is no survey it fails.
func ParseSurvey(text []byte) (*Survey, error) {
	s := &Survey{}
	if err := json.Unmarshal(text, s); err != nil {
		return nil, fmt.Errorf("not a survey, which is what survey --json prints: %w", err)
	}
	if s.Setting == "" {
		return nil, fmt.Errorf(`not a survey: it has no "setting"; want what survey --json prints`)
	}
	return s, nil
}

// A curve is what each value of a setting buys a track, against what it costs.
type curve struct {
	Title   string
	Picture template.HTML
	Caption string
	Figures *table
}

// curves are those of a track's chains, none if it was not surveyed.
func (s *Survey) curves(t *track) (all []curve) {
	if s == nil {
		return nil
	}
	for i := range s.Tracks {
		if u := &s.Tracks[i]; u.Name == t.name && len(u.Rows) > 0 {
			chain := chainName(&ledger.Track{Variant: u.Variant})
			c := curve{Title: s.Setting + ", " + chain, Figures: surveyFigures(u.Rows)}
			c.Caption = "No value keeps every requirement, or none was required."
			if u.Answer != nil {
				c.Caption = fmt.Sprintf("The deepest value that keeps every requirement is %s.", bare(*u.Answer))
			}
			c.Caption += " Full dots keep them, rings do not."
			c.Picture = drawSurvey(fmt.Sprintf("su%s-%d", t.id, len(all)+1), t.name+", "+chain, s.Setting, u.Rows,
				u.Answer, c.Caption)
			all = append(all, c)
		}
	}
	return all
}

// bare is a number with no more decimals than it has.
func bare(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(fixed(x, 4), "0"), ".")
}

// cost is what may be heard, percent; nil where it is not measured.
func (r *surveyRow) cost() float64 {
	if r.Audibility == nil {
		return math.NaN()
	}
	return r.Audibility.DisturbedPercent
}

func drawSurvey(id, name, setting string, rows []surveyRow, answer *float64, words string) template.HTML {
	const width, height, left = cardWidth, 286.0, cardLeft
	x := axis{rows[0].Value, rows[len(rows)-1].Value, left, width - 10}
	if !(x.least < x.most) {
		x.least, x.most = x.least-1, x.most+1
	}
	d := draw(id, "What each value of "+setting+" buys, and what it disturbs, "+name, words, width, height, "")
	if answer != nil {
		at := x.at(*answer)
		d.line("ceil", at, 18, at, 250)
		class := "s b halo"
		if at > width-110 {
			class, at = "s b e halo", at-10
		}
		d.word(class, at+5, 26, "answer "+bare(*answer))
	}
	d.surveyPlot(x, rows, "true net, dB", 22, 120, func(r *surveyRow) float64 { return value(r.TrueNetDB) })
	d.surveyPlot(x, rows, "disturbed, %", 152, 250, (*surveyRow).cost)
	for _, v := range ticks(x.least, x.most, 8) {
		d.line("ax", x.at(v), 250, x.at(v), 254)
		d.word("c m s", x.at(v), 267, bare(v))
	}
	d.word("m s", left, 282, setting)
	return d.done()
}

// surveyPlot draws a figure of the rows between two heights.
func (d *drawing) surveyPlot(x axis, rows []surveyRow, name string, top, bottom float64,
	of func(*surveyRow) float64) {
	least, most := 0.0, 1.0
	for i := range rows {
		if v := of(&rows[i]); !math.IsNaN(v) {
			least, most = min(least, v), max(most, v)
		}
	}
	y := axis{least, most + float64(0.1*(most-least)), bottom, top}
	for _, v := range ticks(least, y.most, 4) {
		d.line("g", x.from, y.at(v), x.to, y.at(v))
		d.word("e m s", x.from-5, y.at(v)+4, bare(v))
	}
	d.word("m s", x.from, top-8, name)
	path := ""
	for i := range rows {
		if v := of(&rows[i]); !math.IsNaN(v) {
			path += fmt.Sprintf("%c%s %s", "ML"[min(len(path), 1)], number(x.at(rows[i].Value)), number(y.at(v)))
		}
	}
	if path != "" {
		d.path("loud", path)
	}
	for i := range rows {
		if v := of(&rows[i]); !math.IsNaN(v) {
			class := "ring"
			if rows[i].Passed {
				class = "dot"
			}
			d.ring(class, x.at(rows[i].Value), y.at(v), 3.4)
		}
	}
}

func surveyFigures(rows []surveyRow) *table {
	t := &table{Caption: "What each value comes to", Stack: true, Heads: []head{
		{"value", "", true}, {"loudness", "LUFS", false}, {"true peak", "dBTP", false}, {"net", "dB", false},
		{"true net", "dB", false},
		{"clipped", "%", false}, {"removed", "dB", false}, {"noise to mask", "dB", false},
		{"disturbed", "%", false}, {"requirements", "", true},
	}}
	for i := range rows {
		r := &rows[i]
		noise := "none"
		if r.Audibility != nil {
			noise = figure(r.Audibility.NoiseToMaskDB, 1)
		}
		met := "✓ met"
		if !r.Passed {
			met = "✗ FAILED"
		}
		row := t.add(bare(r.Value), figure(r.LoudnessLUFS, 2), figure(r.TruePeakDBTP, 2),
			signed(value(r.NetDB), 2), signed(value(r.TrueNetDB), 2),
			fixed(r.ClippedPercent, 2), figure(r.RemovedDB, 1), noise, fixed(r.cost(), 1), met)
		row.Cells[9].Bad = !r.Passed
	}
	return t
}
