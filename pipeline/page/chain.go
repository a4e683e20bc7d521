package page

import (
	"fmt"
	"slices"
	"strings"

	"ledgerline/stages"
)

// chainFigures has every stage of a render with its settings, and every boundary's figures.
func (r *render) chainFigures() table {
	t := table{Caption: r.label(), Stack: true, Heads: []head{
		{"stage", "", true}, {"settings", "", true}, {"sample", "dBFS", false}, {"true", "dBTP", false},
		{"loudness", "LUFS", false}, {"range", "LU", false},
		{"crest", "dB", false}, {"headroom", "dB", false}, {"change", "dB", false}, {"net", "dB", false},
		{"true net", "dB", false}, {"overs", "", false}, {"removed", "dB", false},
	}}
	for k, b := range r.Boundaries {
		texts := []string{b.Stage, "", figure(b.SamplePeakDBFS, 2), figure(b.TruePeakDBTP, 2),
			figure(b.LoudnessLUFS, 2), figure(b.LoudnessRangeLU, 2),
			figure(b.CrestFactorDB, 2), figure(b.HeadroomDB, 2), "", "", "", "", ""}
		if k > 0 {
			s := r.Stages[k-1]
			texts[1] = settings(r.Chain[k-1])
			texts[8], texts[9], texts[10] = signed(value(s.ChangeDB), 2), signed(value(s.NetDB), 2),
				signed(value(s.TrueNetDB), 2)
			if s.Ceiling != nil {
				texts[11] = fmt.Sprint(s.Ceiling.Overs)
				if s.Ceiling.Cutting != nil {
					texts[12] = figure(s.Ceiling.RemovedDB, 1)
				}
			}
		}
		t.add(texts...)
	}
	return t
}

// settings are a stage's kind and all that it is set to, by name.
func settings(u stages.Use) string {
	var all []string
	for name, v := range u.Settings {
		all = append(all, fmt.Sprintf("%s %v", name, v))
	}
	slices.Sort(all)
	if len(all) == 0 {
		return u.Kind
	}
	return u.Kind + ": " + strings.Join(all, ", ")
}

// requirements has what was required of a track's renders; nil if that is nothing.
func (t *track) requirements() *table {
	all := &table{Caption: "Requirements", Hidden: true, Stack: true, Heads: []head{
		{"chain", "", true}, {"stage", "", true}, {"requirement", "", true}, {"wanted", "", false},
		{"found", "", false}, {"met", "", true},
	}}
	for _, r := range t.all() {
		for _, q := range r.Required() {
			met := "✓ met"
			if !q.Passed {
				met = "✗ FAILED"
			}
			row := all.add(r.chain, q.Stage, strings.ReplaceAll(q.Key, "_", " "), fixed(q.Wanted, 2),
				figure(q.Found, apart(value(q.Found), q.Wanted)), met)
			row.Cells[5].Bad = !q.Passed
		}
	}
	if len(all.Rows) == 0 {
		return nil
	}
	return all
}

// files has the mixes and masters of the release with their hashes.
func (s *sheet) files() table {
	t := table{
		Caption: "Files as the ledger records them", Hidden: true, Stack: true,
		Heads: []head{{"file", "", true}, {"form", "", true}, {"SHA-256", "", true}},
	}
	add := func(file, form, sha string) {
		row := t.add(file, form, sha)
		row.Cells[2].Hash = true
	}
	seen := map[string]bool{}
	s.each(func(r *render) {
		if key := r.Source.File + r.Source.SHA256; !seen[key] {
			seen[key] = true
			add(r.Source.File, fmt.Sprintf("mix, %s, %d Hz", r.Source.Encoding, r.Source.RateHz), r.Source.SHA256)
		}
		kind := "master, "
		if r.Delivery != "" {
			kind = "delivery, "
		}
		add(r.Output.File, kind+r.form(), r.Output.SHA256)
		if r.Removed != nil {
			add(r.Removed.File, "removed", r.Removed.SHA256)
		}
		if r.Matched != nil {
			add(r.Matched.File, "matched copy, "+signed(r.Matched.GainDB, 2)+" dB", r.Matched.SHA256)
		}
	})
	return t
}
