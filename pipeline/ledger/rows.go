package ledger

import (
	"slices"
	"strings"
)

// Rows prints a row per render: what its master came to. A figure that the
// record does not have, as of an earlier version, is "--".
func (p Printer) Rows(rows []Row) error {
	g := page{Printer: p}
	g.rows(rows)
	return g.flush()
}

// rowColumn is a column of the table of rows.
type rowColumn struct {
	Column
	of func(r *Row) cell
}

// The figures of a row.
func rowDrive(r *Row) *float64       { return r.Drive }
func rowLoudness(r *Row) *float64    { return r.Loudness }
func rowTruePeak(r *Row) *float64    { return r.TruePeak }
func rowNet(r *Row) *float64         { return r.Net }
func rowTrueNet(r *Row) *float64     { return r.TrueNet }
func rowRemoved(r *Row) *float64     { return r.Removed }
func rowWorst400ms(r *Row) *float64  { return r.Worst400ms }
func rowNoiseToMask(r *Row) *float64 { return r.NoiseToMask }
func rowDisturbed(r *Row) *float64   { return r.Disturbed }

// rowColumns are the columns of a release; that of the drive only where a track
// has a stage of that name, and those of short filters where a track asks for them,
// those of the mask where it was measured. Without the requirements' keys they are narrow.
func rowColumns(rows []Row, keys bool) []rowColumn {
	truePeak := "true peak"
	if !keys {
		truePeak = "peak" // its unit says which
	}
	all := []rowColumn{
		{Column{Head: "track", Left: true}, nameCell},
		{Column{Head: "drive", Unit: "dB", Gap: 1, Spare: 4}, plainCell(rowDrive)},
		{Column{Head: "loudness", Unit: "LUFS", Gap: 1}, plainCell(rowLoudness)},
		{Column{Head: truePeak, Unit: "dBTP", Gap: 1}, plainCell(rowTruePeak)},
		{Column{Head: "net", Unit: "dB", Gap: 1}, netCell(rowNet)},
		{Column{Head: "true net", Unit: "dB", Gap: 1, Spare: 2}, netCell(rowTrueNet)},
		{Column{Head: "removed", Unit: "dB", Gap: 1}, plainCell(rowRemoved)},
		{Column{Head: "worst", Unit: "400 ms", Gap: 1, Spare: 3}, plainCell(rowWorst400ms)},
		{Column{Head: "noise to", Unit: "mask dB", Gap: 2, Spare: spareMask}, plainCell(rowNoiseToMask)},
		{Column{Head: "disturbed", Unit: "%", Gap: 1, Spare: spareMask}, plainCell(rowDisturbed)},
		{Column{Head: "overs", Gap: 1, Spare: 1}, oversCell},
		{Column{Head: "limits", Gap: 1, Left: true}, limitsCell(keys)},
	}
	for _, s := range slices.Backward(shortReadings) {
		if has(rows, func(r *Row) bool { _, asked := r.Short[s.meter]; return asked }) {
			short := plainCell(func(r *Row) *float64 { return r.Short[s.meter] })
			read := rowColumn{Column{Head: s.meter, Unit: "dBTP", Gap: 1, Spare: 5}, short}
			all = slices.Insert(all, 4, read)
		}
	}
	without := func(of func(*Row) *float64, head string) {
		if !has(rows, func(r *Row) bool { return of(r) != nil }) {
			all = slices.DeleteFunc(all, func(c rowColumn) bool { return c.Head == head })
		}
	}
	without(rowDrive, "drive")
	without(rowDisturbed, "noise to")
	without(rowDisturbed, "disturbed")
	return all
}

// has says whether one of the rows is as asked.
func has(rows []Row, is func(*Row) bool) bool {
	for i := range rows {
		if is(&rows[i]) {
			return true
		}
	}
	return false
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
func (g *page) rows(rows []Row) {
	table := tableOf(rowColumns(rows, true), rows)
	if table.width(nameWanted) > g.tableWidth() {
		table = tableOf(withoutSpare(rowColumns(rows, true), spareMask), rows)
	}
	if table.width(nameWanted) > g.tableWidth() {
		table = tableOf(withoutSpare(rowColumns(rows, false), spareMask), rows)
		table.fit(g.tableWidth(), nameWanted)
	}
	g.gridWithin(g.tableWidth(), 0, &table)
}

func tableOf(columns []rowColumn, rows []Row) grid {
	table := grid{shorten: func(i, width int) string {
		return LabelWithin(rows[i].Name, Version(rows[i].Variant, rows[i].Delivery), width)
	}}
	for _, c := range columns {
		table.columns = append(table.columns, c.Column)
	}
	for i := range rows {
		row := make([]cell, 0, len(columns))
		for _, c := range columns {
			row = append(row, c.of(&rows[i]))
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

func worst400ms(t *Track) *float64 {
	if t.Whole == nil || t.Whole.RemovedWorst400ms == nil {
		return nil
	}
	return t.Whole.RemovedWorst400ms.DB
}

func nameCell(r *Row) cell {
	return cell{text: clean(r.label())}
}

func plainCell(of func(*Row) *float64) func(*Row) cell {
	return func(r *Row) cell { return cell{text: figure(of(r))} }
}

func netCell(of func(*Row) *float64) func(*Row) cell {
	return func(r *Row) cell {
		net := of(r)
		return cell{text: signed(net), tone: r.outcome().toneOf(net)}
	}
}

func oversCell(r *Row) cell {
	switch {
	case r.Ceiling == nil:
		return cell{}
	case r.Overs > 0:
		return cell{text: count(r.Overs), tone: alarm}
	}
	return cell{text: count(r.Overs)}
}

// limitsCell says how a track's requirements fared: met, FAILED with what failed
// if there is room for its name, or how many FAILED.
func limitsCell(named bool) func(*Row) cell {
	return func(r *Row) cell {
		var failed []string
		for _, f := range r.Failed {
			failed = append(failed, f.name())
		}
		switch {
		case r.Requirements == 0:
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
