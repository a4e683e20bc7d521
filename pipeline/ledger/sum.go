package ledger

import (
	"cmp"
	"slices"
)

// New is a ledger without tracks.
func New(tool, title string, ceilingDBFS float64, releaseSHA256 string) *Ledger {
	return &Ledger{
		Schema:        Schema,
		Tool:          tool,
		Title:         title,
		CeilingDBFS:   round(ceilingDBFS, levelSteps),
		ReleaseSHA256: releaseSHA256,
		Tracks:        []Track{},
	}
}

// Sum puts the tracks in order, by name, then by variant and by delivery, and fills the
// totals. Lists that are missing become empty ones, so that none is written as
// null.
func (l *Ledger) Sum() {
	slices.SortStableFunc(l.Tracks, func(a, b Track) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Variant, b.Variant),
			cmp.Compare(a.Delivery, b.Delivery))
	})
	l.Tracks = orEmpty(l.Tracks)
	l.Totals = Totals{}
	for i := range l.Tracks {
		t := &l.Tracks[i]
		t.fill()
		row := t.Row()
		l.Totals.add(&row, i == 0 || t.Name != l.Tracks[i-1].Name, l.CeilingDBFS)
	}
}

// oversLeft is how many samples pass the last ceiling of the chain, and whether
// the chain has a ceiling. The overs of earlier stages have been dealt with since.
func (t *Track) oversLeft() (int64, bool) {
	if k := t.lastCeiling(); k > 0 {
		return t.Stages[k-1].Ceiling.Overs, true
	}
	return 0, false
}

// lastCeiling is the boundary after the last stage that has a ceiling, 0 where
// there is none.
func (t *Track) lastCeiling() int {
	for i, s := range slices.Backward(t.Stages) {
		if s.Ceiling != nil {
			return i + 1
		}
	}
	return 0
}

// trueOvers is how many tracks, each variant counted, end with a true peak beyond
// the ceiling in force there.
func (l *Ledger) trueOvers() int {
	n := 0
	for i := range l.Tracks {
		if row := l.Tracks[i].Row(); row.trueOver(l.CeilingDBFS) {
			n++
		}
	}
	return n
}

// fill makes missing lists empty.
func (t *Track) fill() {
	t.Chain, t.Boundaries, t.Stages = orEmpty(t.Chain), orEmpty(t.Boundaries), orEmpty(t.Stages)
	for i := range t.Chain {
		if t.Chain[i].Settings == nil {
			t.Chain[i].Settings = map[string]any{}
		}
	}
	for i := range t.Boundaries {
		t.Boundaries[i].DCOffset = orEmpty(t.Boundaries[i].DCOffset)
	}
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
