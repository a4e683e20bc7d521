package ledger

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Encode writes the comparison as JSON, in the same layout as a ledger.
func (c *Comparison) Encode(w io.Writer) error { return EncodeJSON(w, c) }

// Comparison prints what the masters came to, what was changed, what moved at
// the stages, and the totals. Figures that only follow others are counted, not
// listed.
func (p Printer) Comparison(c *Comparison) error {
	g := page{Printer: p}
	if c.Same() {
		g.trials(c)
		g.lastLine(plain, c.Summary())
		return g.flush()
	}
	g.masters(c)
	if len(c.Changes) > 0 {
		g.line(0, strong, "what was changed")
		for _, change := range c.Changes {
			g.line(2, plain, change.Line())
		}
		g.blank()
	}
	g.moves(c)
	for _, ref := range c.Added {
		g.line(0, plain, "new track: "+ref.String())
	}
	for _, ref := range c.Removed {
		g.line(0, plain, "track gone: "+ref.String())
	}
	g.trials(c)
	g.lastLine(plain, c.Summary())
	return g.flush()
}

// trials names listening trials of other files.
func (g *page) trials(c *Comparison) {
	for i := range c.Trials {
		g.line(0, plain, c.Trials[i].String())
	}
}

// moves lists the figures that moved under the track they belong to, the track
// with the worst first.
func (g *page) moves(c *Comparison) {
	if len(c.Moves) == 0 {
		return
	}
	g.line(0, strong, "what moved at the stages, losses first")
	table := grid{columns: []Column{
		{Left: true}, {Left: true, Gap: 2}, {Left: true, Gap: 2}, {Gap: 1, Spare: 1}, {Gap: 2}, {Gap: 1}, {Gap: 1},
		{Left: true, Gap: 1},
	}}
	for _, of := range c.byTrack() {
		table.add(cell{of[0].ref().String(), strong})
		follow := 0
		for _, m := range of {
			if m.Follows {
				follow++
				continue
			}
			table.add(m.cells(c.ToleranceDB)...)
		}
		switch {
		case follow == len(of) && of[0].Delivery != "":
			table.add(cell{text: "  " + many(follow, "figure") + " moved along with the master's"})
		case follow > 0:
			table.add(cell{text: "  and " + many(follow, "figure") + " that moved along with these"})
		}
	}
	g.grid(0, &table)
	g.blank()
}

// byTrack groups the moves by track, in the order in which tracks first appear.
func (c *Comparison) byTrack() [][]Move {
	var order []TrackRef
	of := map[TrackRef][]Move{}
	for _, m := range c.Moves {
		if len(of[m.ref()]) == 0 {
			order = append(order, m.ref())
		}
		of[m.ref()] = append(of[m.ref()], m)
	}
	var groups [][]Move
	for _, ref := range order {
		groups = append(groups, of[ref])
	}
	return groups
}

func (m *Move) ref() TrackRef { return TrackRef{m.Track, m.Variant, m.Delivery} }

// String names the track as tables do.
func (r TrackRef) String() string { return clean(Label(r.Track, Version(r.Variant, r.Delivery))) }

// cells are the row of a move.
func (m *Move) cells(toleranceDB float64) []cell {
	by := ""
	if m.By != nil {
		size := math.Abs(*m.By)
		by = m.show(size, toleranceDB) + " " + m.unitOf(m.Unit, size)
	}
	return []cell{
		{text: "  " + clean(m.Stage)}, {text: m.name()}, {m.Word, m.tone()}, {by, m.tone()},
		{text: m.side(m.Old, toleranceDB)}, {text: "->"}, {text: m.side(m.New, toleranceDB)},
		{text: m.levelUnit(m.New)},
	}
}

// kept is what is compared by the move's key.
func (m *Move) kept() (kept, bool) {
	for _, f := range append(slices.Clip(compared), limited, matchedGain, removedGain) {
		if f.key == m.Figure {
			return f, true
		}
	}
	return kept{}, false
}

// name is the figure's name in words.
func (m *Move) name() string {
	if f, ok := m.kept(); ok {
		return f.name
	}
	return Requirement{Key: m.Figure}.name()
}

// level is the unit of the figure itself, where Unit is that of a difference.
func (m *Move) level() string {
	if f, ok := m.kept(); ok {
		return f.level
	}
	return wishes[m.Figure].unit
}

// levelUnit is the unit that is written after one side of the move.
func (m *Move) levelUnit(x *float64) string {
	if x == nil {
		return m.unitOf(m.level(), 0)
	}
	return m.unitOf(m.level(), *x)
}

// unitOf is a unit as it is written after a number. A requirement has that of
// its figure, and overs are samples.
func (m *Move) unitOf(unit string, x float64) string {
	if m.Figure == "overs_max" {
		unit = unitSamples
	} else if unit == "" {
		unit = differenceOf[m.level()]
	}
	if unit == unitSamples && x == 1 {
		return "sample"
	}
	return unit
}

// differenceOf is the unit of a difference of two levels.
var differenceOf = map[string]string{
	"dBFS": unitDB, "dBTP": unitDB, "dB": unitDB, "LUFS": unitLU, "LU": unitLU,
}

// show is a value with as many decimals as the tolerance lets one see.
func (m *Move) show(x, toleranceDB float64) string {
	switch {
	case m.Unit == unitSamples || m.Figure == "overs_max":
		return count(int64(x))
	case m.Unit == unitScale:
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return finer(x, toleranceDB)
}

// finer is a level with as many decimals as the tolerance lets one see.
func finer(x, toleranceDB float64) string {
	if toleranceDB < DefaultToleranceDB && math.Abs(x) < 1e6 {
		return strconv.FormatFloat(x, 'f', 4, 64)
	}
	return fixed(x)
}

func (m *Move) side(x *float64, toleranceDB float64) string {
	if x == nil {
		return none
	}
	return m.show(*x, toleranceDB)
}

func (m *Move) tone() tone {
	switch {
	case m.Worse:
		return alarm
	case m.Word == "now met", m.Word == "gained" && (m.Figure == "net_db" || m.Figure == "true_net_db"):
		return good
	}
	return plain
}

// Summary is the comparison in a line.
func (c *Comparison) Summary() string {
	sum := c.Totals
	compared := many(sum.Compared, "track")
	if c.tracks < sum.Compared { // some of them in several versions
		compared = many(sum.Compared, "render")
	}
	if c.Same() {
		return "no differences in " + compared
	}
	moved := fmt.Sprintf("nothing moved by more than %s dB in %s", short(c.ToleranceDB), compared)
	if sum.Figures > 0 {
		moved = fmt.Sprintf("%s moved by more than %s dB in %d of %s",
			many(sum.Figures, "figure"), short(c.ToleranceDB), sum.Moved, compared)
	}
	parts := []string{many(sum.OutputsDiffer, "master") + " changed", moved}
	if sum.OutputsDiffer == 0 {
		parts = parts[1:]
	}
	if len(c.Added)+len(c.Removed) > 0 {
		parts = append(parts, fmt.Sprintf("%d new, %d gone", len(c.Added), len(c.Removed)))
	}
	parts = append(parts, fmt.Sprintf("overs %d -> %d", sum.OversOld, sum.OversNew))
	if sum.TrueOversOld+sum.TrueOversNew > 0 {
		parts = append(parts, fmt.Sprintf("true peaks over %d -> %d", sum.TrueOversOld, sum.TrueOversNew))
	}
	parts = append(parts, fmt.Sprintf("failed requirements %d -> %d", sum.RequirementsFailedOld,
		sum.RequirementsFailedNew))
	return strings.Join(parts, "; ")
}

// short is a number without trailing zeros.
func short(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
