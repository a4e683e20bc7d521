package survey

import (
	"fmt"
	"strconv"
	"strings"

	"ledgerline/pipeline/ledger"
)

// Print writes a table for each track, the answer marked, and below it the answer and the first failure in words.
func (s *Survey) Print(p ledger.Printer) error {
	for i := range s.Tracks {
		t := &s.Tracks[i]
		if _, err := fmt.Fprintf(p.Out, "%s\n", shown(t.Name)); err != nil {
			return err
		}
		if err := p.Table(0, t.table()); err != nil {
			return err
		}
		if _, err := fmt.Fprintf(p.Out, "  %s\n\n", t.verdict(s.Setting)); err != nil {
			return err
		}
	}
	return nil
}

func (t *Track) table() ledger.Table {
	table := ledger.Table{Columns: []ledger.Column{
		{Left: true, Least: 1},
		{Head: "value"},
		{Head: "loud", Unit: "LUFS", Gap: 1},
		{Head: "net", Unit: "dB", Gap: 1},
		{Head: "true", Unit: "net dB", Gap: 1},
		{Head: "clipped", Unit: "%", Gap: 1},
		{Head: "removed", Unit: "dB", Gap: 1},
		{Head: "400 ms", Unit: "dB", Gap: 1},
		{Head: "to mask", Unit: "dB", Gap: 1},
		{Head: "disturbed", Unit: "%", Gap: 1},
		{Head: "15 s", Unit: "%", Gap: 1},
		{Head: "true", Unit: "dBTP", Gap: 1},
		{Gap: 1, Left: true},
	}}
	for _, r := range t.Rows {
		table.Rows = append(table.Rows, r.texts(t.Answer))
	}
	return table
}

// texts are a row's, in the order of the columns.
func (r Row) texts(answer *float64) []string {
	mark, word := "", "ok"
	if answer != nil && *answer == r.Value {
		mark = ">"
	}
	switch {
	case !r.Passed:
		word = "FAILED"
	case len(r.Requirements) == 0:
		word = ""
	}
	worst := ""
	if w := r.RemovedWorst400ms; w != nil {
		worst = figure(w.DB)
	}
	toMask, disturbed, in15s := "", "", ""
	if a := r.Audibility; a != nil {
		toMask, disturbed = figure(a.NoiseToMaskDB), figure(&a.DisturbedPercent)
		if w := a.Worst15s; w != nil {
			in15s = figure(&w.DisturbedPercent)
		}
	}
	return []string{
		mark, number(r.Value), figure(r.LoudnessLUFS), figure(r.NetDB), figure(r.TrueNetDB), figure(&r.ClippedPercent),
		figure(r.RemovedDB), worst, toMask, disturbed, in15s, figure(r.TruePeakDBTP), word,
	}
}

// verdict is the answer and the first failure in words.
func (t *Track) verdict(setting string) string {
	setting = shown(setting)
	f := t.FirstFailure
	if f == nil && t.Answer == nil {
		return "nothing is required: a --limit, or a measure in the chain, says which values will do"
	}
	text := "no value of " + setting + " keeps every requirement"
	if t.Answer != nil {
		text = fmt.Sprintf("%s = %s is the deepest value that keeps every requirement", setting, number(*t.Answer))
	}
	if f == nil {
		return text + "; none fails"
	}
	text += fmt.Sprintf("; %s fails first", number(f.Value))
	if f.TimeS != nil {
		text += fmt.Sprintf(", worst at %.2f s", *f.TimeS)
	}
	for _, q := range f.Requirements {
		text += "\n    " + shown(q.Stage) + ": " + q.String()
	}
	return text
}

// figure is a figure to two decimals; a dash where it does not exist.
func figure(x *float64) string {
	if x == nil {
		return "-"
	}
	text := strconv.FormatFloat(*x, 'f', 2, 64)
	if text == "-0.00" {
		return "0.00"
	}
	return text
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// shown is a name that breaks no line.
func shown(name string) string {
	quoted := strconv.QuoteToGraphic(name)
	return strings.ReplaceAll(quoted[1:len(quoted)-1], `\"`, `"`)
}
