package ledger

import "slices"

// InOrder are the names of the tracks as they follow each other: in the order that is recorded, or by name.
func (l *Ledger) InOrder() []string {
	if len(l.Order) > 0 {
		return l.Order
	}
	var names []string
	for i := range l.Tracks {
		names = append(names, l.Tracks[i].Name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// Ordered are the entries as their tracks follow each other, those of a track in the order in which they are
// recorded.
func (l *Ledger) Ordered() []*Track {
	all := make([]*Track, len(l.Tracks))
	for i := range l.Tracks {
		all[i] = &l.Tracks[i]
	}
	SortByOrder(all, l.InOrder(), func(t *Track) string { return t.Name })
	return all
}

// SortByOrder sorts what belongs to tracks as these follow each other by an order of names. What is of one
// track, or of tracks that are not in the order, stays as it is, the latter at the end.
func SortByOrder[T any](all []T, order []string, track func(T) string) {
	at := make(map[string]int, len(order))
	for i, name := range order {
		at[name] = i - len(order) // below 0, what a name has that is not in it
	}
	slices.SortStableFunc(all, func(a, b T) int { return at[track(a)] - at[track(b)] })
}
