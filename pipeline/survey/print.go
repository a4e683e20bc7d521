package survey

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ledgerline/pipeline/ledger"
)

// Print writes a table for each mix, those of its variants in one, with the answers marked, and below it the
// answers and the first failures in words.
func (s *Survey) Print(p ledger.Printer) error {
	for _, tracks := range s.byName() {
		if _, err := fmt.Fprintf(p.Out, "%s\n", shown(tracks[0].Name)); err != nil {
			return err
		}
		if err := p.Table(0, s.table(tracks)); err != nil {
			return err
		}
		if _, err := fmt.Fprintf(p.Out, "%s\n", s.verdicts(tracks)); err != nil {
			return err
		}
	}
	return nil
}

// byName are the tracks, those of one mix together.
func (s *Survey) byName() (groups [][]Track) {
	for i := range s.Tracks {
		if last := len(groups) - 1; i > 0 && groups[last][0].Name == s.Tracks[i].Name {
			groups[last] = append(groups[last], s.Tracks[i])
			continue
		}
		groups = append(groups, s.Tracks[i:i+1:i+1])
	}
	return groups
}

// A column is one of a table's, and what a row has in it.
type column struct {
	ledger.Column
	of func(t *Track, r *Row) string
}

func (s *Survey) table(tracks []Track) ledger.Table {
	columns := columns
	if len(tracks) > 1 {
		name := column{
			ledger.Column{Head: "chain", Gap: 1, Left: true}, func(t *Track, _ *Row) string { return t.chain() },
		}
		columns = slices.Insert(slices.Clone(columns), 2, name)
	}
	type line struct {
		of  *Track
		row *Row
	}
	var lines []line
	for i := range tracks {
		for k := range tracks[i].Rows {
			lines = append(lines, line{&tracks[i], &tracks[i].Rows[k]})
		}
	}
	slices.SortStableFunc(lines, func(a, b line) int { return sign(a.row.Value - b.row.Value) })
	var table ledger.Table
	for _, c := range columns {
		table.Columns = append(table.Columns, c.Column)
	}
	for _, l := range lines {
		var texts []string
		for _, c := range columns {
			texts = append(texts, c.of(l.of, l.row))
		}
		table.Rows = append(table.Rows, texts)
	}
	return table
}

// chain names a track's chain among others of its mix.
func (t *Track) chain() string {
	if t.Variant == "" {
		return "(own)"
	}
	return shown(t.Variant)
}

func head(head, unit string, of func(*Track, *Row) string) column {
	return column{ledger.Column{Head: head, Unit: unit, Gap: 1}, of}
}

var columns = []column{
	{ledger.Column{Left: true, Least: 1}, func(t *Track, r *Row) string {
		if t.Answer != nil && *t.Answer == r.Value {
			return ">"
		}
		return ""
	}},
	{ledger.Column{Head: "value"}, func(_ *Track, r *Row) string { return number(r.Value) }},
	head("loud", "LUFS", func(_ *Track, r *Row) string { return figureText(r.LoudnessLUFS) }),
	head("net", "dB", func(_ *Track, r *Row) string { return figureText(r.NetDB) }),
	head("true", "net dB", func(_ *Track, r *Row) string { return figureText(r.TrueNetDB) }),
	head("clipped", "%", func(_ *Track, r *Row) string { return figureText(&r.ClippedPercent) }),
	head("removed", "dB", func(_ *Track, r *Row) string { return figureText(r.RemovedDB) }),
	head("400 ms", "dB", func(_ *Track, r *Row) string {
		if r.RemovedWorst400ms == nil {
			return ""
		}
		return figureText(r.RemovedWorst400ms.DB)
	}),
	head("to mask", "dB", func(_ *Track, r *Row) string {
		if r.Audibility == nil {
			return ""
		}
		return figureText(r.Audibility.NoiseToMaskDB)
	}),
	head("disturbed", "%", func(_ *Track, r *Row) string {
		if r.Audibility == nil {
			return ""
		}
		return figureText(&r.Audibility.DisturbedPercent)
	}),
	head("15 s", "%", func(_ *Track, r *Row) string {
		if r.Audibility == nil || r.Audibility.Worst15s == nil {
			return ""
		}
		return figureText(&r.Audibility.Worst15s.DisturbedPercent)
	}),
	head("aliased", "%", func(_ *Track, r *Row) string {
		if r.AliasingDisturbedPercent == nil {
			return ""
		}
		return figureText(r.AliasingDisturbedPercent)
	}),
	head("true", "dBTP", func(_ *Track, r *Row) string { return figureText(r.TruePeakDBTP) }),
	{ledger.Column{Gap: 1, Left: true}, func(_ *Track, r *Row) string {
		switch {
		case r.Unrepeated:
			return "FAILED ~"
		case !r.Passed:
			return "FAILED"
		case len(r.Requirements) == 0:
			return ""
		}
		return "ok"
	}},
}

// figureText is a figure to two decimals; a dash where it does not exist.
func figureText(x *float64) string {
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
