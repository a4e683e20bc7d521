package ledger

import (
	"slices"
	"strings"
)

// Rows prints a row per track: what its master came to. A figure that the
// record does not have, as of an earlier version, is "--".
func (p Printer) Rows(tracks []*Track) error {
	g := page{Printer: p}
	g.rows(tracks)
	return g.flush()
}

// rowColumn is a column of the table of rows.
type rowColumn struct {
	Column
	of func(t *Track) cell
}

// rowColumns are the columns of a release; that of the drive only where a track
// has a stage of that name, and those of short filters where a track asks for them,
// those of the mask where it was measured. Without the requirements' keys they are narrow.
func rowColumns(tracks []*Track, keys bool) []rowColumn {
	truePeak := "true peak"
	if !keys {
		truePeak = "peak" // its unit says which
	}
	all := []rowColumn{
		{Column{Head: "track", Left: true}, nameCell},
		{Column{Head: "drive", Unit: "dB", Gap: 1, Spare: 4}, plainCell(drive)},
		{Column{Head: "loudness", Unit: "LUFS", Gap: 1}, endCell(func(b Boundary) *float64 { return b.LoudnessLUFS })},
		{Column{Head: truePeak, Unit: "dBTP", Gap: 1}, endCell(func(b Boundary) *float64 { return b.TruePeakDBTP })},
		{Column{Head: "net", Unit: "dB", Gap: 1}, netCell(func(o outcome) *float64 { return o.net })},
		{Column{Head: "true net", Unit: "dB", Gap: 1, Spare: 2}, netCell(func(o outcome) *float64 { return o.trueNet })},
		{Column{Head: "removed", Unit: "dB", Gap: 1}, plainCell(wholeRemoved)},
		{Column{Head: "worst", Unit: "400 ms", Gap: 1, Spare: 3}, plainCell(worst400ms)},
		{Column{Head: "noise to", Unit: "mask dB", Gap: 2, Spare: spareMask}, plainCell(noiseToMask)},
		{Column{Head: "disturbed", Unit: "%", Gap: 1, Spare: spareMask}, plainCell(disturbed)},
		{Column{Head: "overs", Gap: 1, Spare: 1}, oversCell},
		{Column{Head: "limits", Gap: 1, Left: true}, limitsCell(keys)},
	}
	for _, r := range slices.Backward(shortReadings) {
		if slices.ContainsFunc(tracks, func(t *Track) bool { return t.asksFor(r) }) {
			read := rowColumn{Column{Head: r.meter, Unit: "dBTP", Gap: 1, Spare: 5}, plainCell(func(t *Track) *float64 { return t.short(r) })}
			all = slices.Insert(all, 4, read)
		}
	}
	without := func(of func(*Track) *float64, head string) {
		if !slices.ContainsFunc(tracks, func(t *Track) bool { return of(t) != nil }) {
			all = slices.DeleteFunc(all, func(c rowColumn) bool { return c.Head == head })
		}
	}
	without(drive, "drive")
	without(disturbed, "noise to")
	without(disturbed, "disturbed")
	return all
}

// spareMask is the number of the columns of the mask, which go before anything else does.
const spareMask = 6

func withoutSpare(columns []rowColumn, spare int) []rowColumn {
	return slices.DeleteFunc(columns, func(c rowColumn) bool { return c.Spare == spare })
}

// nameWanted is how much of the names the other columns leave, if they can.
const nameWanted = 15

// rows adds the table. Where the terminal is narrow, first the figures of the mask go, then the
// requirements' keys, then names are shortened, then columns go.
func (g *page) rows(tracks []*Track) {
	table := tableOf(rowColumns(tracks, true), tracks)
	if table.width(nameWanted) > g.tableWidth() {
		table = tableOf(withoutSpare(rowColumns(tracks, true), spareMask), tracks)
	}
	if table.width(nameWanted) > g.tableWidth() {
		table = tableOf(withoutSpare(rowColumns(tracks, false), spareMask), tracks)
		table.fit(g.tableWidth(), nameWanted)
	}
	g.gridWithin(g.tableWidth(), 0, &table)
}

func tableOf(columns []rowColumn, tracks []*Track) grid {
	table := grid{shorten: func(i, width int) string { return LabelWithin(tracks[i].Name, tracks[i].Version(), width) }}
	for _, c := range columns {
		table.columns = append(table.columns, c.Column)
	}
	for _, t := range tracks {
		var row []cell
		for _, c := range columns {
			row = append(row, c.of(t))
		}
		table.add(row...)
	}
	return table
}

// drive is the gain of the stage that is named so, in dB; nil: there is none.
func drive(t *Track) *float64 {
	for _, s := range t.Chain {
		if s.Name != "drive" {
			continue
		}
		if f, ok := s.Factor(); ok {
			return &f.DB
		}
	}
	return nil
}

func wholeRemoved(t *Track) *float64 {
	if t.Whole == nil {
		return nil
	}
	return t.Whole.RemovedDB
}

func noiseToMask(t *Track) *float64 { return t.heard().noiseToMask() }

func disturbed(t *Track) *float64 { return t.heard().disturbed() }

func worst400ms(t *Track) *float64 {
	if t.Whole == nil || t.Whole.RemovedWorst400ms == nil {
		return nil
	}
	return t.Whole.RemovedWorst400ms.DB
}

func nameCell(t *Track) cell {
	return cell{text: clean(t.label())}
}

func plainCell(of func(*Track) *float64) func(*Track) cell {
	return func(t *Track) cell { return cell{text: figure(of(t))} }
}

// endCell is a figure of the boundary that the master is written from.
func endCell(of func(Boundary) *float64) func(*Track) cell {
	return func(t *Track) cell {
		_, end := t.ends()
		return cell{text: figure(of(end))}
	}
}

func netCell(of func(outcome) *float64) func(*Track) cell {
	return func(t *Track) cell {
		o := t.outcome()
		return cell{text: signed(of(o)), tone: o.toneOf(of(o))}
	}
}

func oversCell(t *Track) cell {
	n, ok := t.oversLeft()
	switch {
	case !ok:
		return cell{}
	case n > 0:
		return cell{text: count(n), tone: alarm}
	}
	return cell{text: count(n)}
}

// limitsCell says how a track's requirements fared: met, FAILED with what failed
// if there is room for its name, or how many FAILED.
func limitsCell(named bool) func(*Track) cell {
	return func(t *Track) cell {
		var failed []string
		for _, r := range t.failed() {
			failed = append(failed, r.name())
		}
		switch {
		case len(t.Required()) == 0:
			return cell{}
		case len(failed) == 0:
			return cell{text: "met"}
		case named:
			return cell{text: "FAILED " + strings.Join(failed, ", "), tone: alarm}
		}
		return cell{text: "FAILED", tone: alarm}
	}
}

// name is what the requirement is about, in words.
func (r Requirement) name() string {
	if w, ok := wishes[r.Key]; ok {
		return w.what
	}
	return clean(r.Key)
}
