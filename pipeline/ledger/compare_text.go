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

// Comparison prints what was changed, what moved, and the totals. Figures that
// only follow others are counted, not listed.
func (p Printer) Comparison(c *Comparison) error {
	g := page{Printer: p}
	if c.Same() {
		g.line(0, plain, c.summary())
		return g.flush()
	}
	if len(c.Changes) > 0 {
		g.line(0, strong, "what was changed")
		for _, change := range c.Changes {
			g.line(2, plain, change.String()+change.scope())
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
	g.line(0, plain, c.summary())
	return g.flush()
}

// moves lists the figures that moved under the track they belong to, the track
// with the worst first.
func (g *page) moves(c *Comparison) {
	if len(c.Moves) == 0 {
		return
	}
	g.line(0, strong, "what moved, worst first")
	table := grid{columns: []column{
		{left: true}, {left: true, gap: 2}, {left: true, gap: 2}, {gap: 1}, {gap: 3}, {gap: 1}, {gap: 1},
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
		if follow > 0 {
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

func (m *Move) ref() TrackRef { return TrackRef{m.Track, m.Variant} }

// String names the track as tables do.
func (r TrackRef) String() string { return clean(Label(r.Track, r.Variant)) }

// cells are a move's row.
func (m *Move) cells(toleranceDB float64) []cell {
	by := ""
	if m.By != nil {
		by = m.show(math.Abs(*m.By), toleranceDB) + m.suffix()
	}
	return []cell{
		{text: "  " + clean(m.Stage)}, {text: m.name()}, {m.Word, m.tone()}, {by, m.tone()},
		{text: m.side(m.Old, toleranceDB)}, {text: "->"}, {text: m.side(m.New, toleranceDB)},
	}
}

// name is the figure's name in words.
func (m *Move) name() string {
	for _, f := range append(slices.Clip(compared), limited, matchedGain, removedGain) {
		if f.key == m.Figure {
			return f.name
		}
	}
	if w, ok := wishes[m.Figure]; ok {
		return w.what
	}
	return clean(m.Figure)
}

// suffix is the unit as it stands behind a difference.
func (m *Move) suffix() string {
	if m.Unit == unitDB || m.Unit == unitLU {
		return " " + m.Unit
	}
	return ""
}

// show is a value with as many decimals as the tolerance lets one see.
func (m *Move) show(x, toleranceDB float64) string {
	switch {
	case m.Unit == unitSamples || m.Figure == "overs_max":
		return count(int64(x))
	case m.Unit == unitScale:
		return strconv.FormatFloat(x, 'f', -1, 64)
	case toleranceDB < DefaultToleranceDB:
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
	switch m.Word {
	case "lost", "now fails":
		return alarm
	case "gained", "now met":
		return good
	}
	return notice
}

// summary is the comparison in a line.
func (c *Comparison) summary() string {
	sum := c.Totals
	if c.Same() {
		return fmt.Sprintf("The two ledgers say the same of %s.", many(sum.Compared, "track"))
	}
	parts := []string{fmt.Sprintf("nothing moved by more than %s dB in %s", short(c.ToleranceDB), many(sum.Compared, "track"))}
	if sum.Figures > 0 {
		parts[0] = fmt.Sprintf("%s moved by more than %s dB in %d of %s",
			many(sum.Figures, "figure"), short(c.ToleranceDB), sum.Moved, many(sum.Compared, "track"))
	}
	if sum.OutputsDiffer > 0 {
		parts = append(parts, many(sum.OutputsDiffer, "master")+" of other bytes")
	}
	if len(c.Added)+len(c.Removed) > 0 {
		parts = append(parts, fmt.Sprintf("%d new, %d gone", len(c.Added), len(c.Removed)))
	}
	parts = append(parts, fmt.Sprintf("overs %d -> %d", sum.OversOld, sum.OversNew))
	if sum.TrueOversOld+sum.TrueOversNew > 0 {
		parts = append(parts, fmt.Sprintf("true peaks over %d -> %d", sum.TrueOversOld, sum.TrueOversNew))
	}
	parts = append(parts, fmt.Sprintf("failed requirements %d -> %d", sum.RequirementsFailedOld, sum.RequirementsFailedNew))
	return strings.Join(parts, "; ")
}

// short is a number without needless noughts.
func short(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
