package page

import (
	"ledgerline/pipeline/along"
	"ledgerline/pipeline/ledger"
)

// Compare is the content of a page of two ledgers: of each track the columns of both, side by side, and what
// changed first. The verdict is that of the newer one. Records are those of the ledgers' tracks, in their
// order; nil: none.
func Compare(old *ledger.Ledger, oldRecords []*along.Record, new *ledger.Ledger, newRecords []*along.Record,
	changes *ledger.Comparison) Content {
	c := Content{Ledger: new, Changes: changes}
	add := func(l *ledger.Ledger, records []*along.Record, i int, when string) {
		r := Render{Track: &l.Tracks[i], Chain: chainName(&l.Tracks[i]) + ", " + when, Old: l == old}
		if i < len(records) {
			r.Along = records[i]
		}
		c.Renders = append(c.Renders, r)
	}
	seen := map[int]bool{} // of the older one
	for i := range new.Tracks {
		for k := range old.Tracks {
			if old.Tracks[k].Name == new.Tracks[i].Name && old.Tracks[k].Variant == new.Tracks[i].Variant &&
				old.Tracks[k].Delivery == new.Tracks[i].Delivery {
				seen[k] = true
				add(old, oldRecords, k, "before")
			}
		}
		add(new, newRecords, i, "now")
	}
	for k := range old.Tracks {
		if !seen[k] {
			add(old, oldRecords, k, "before")
		}
	}
	return c
}

// chainName is the name of a render's chain in its track.
func chainName(t *ledger.Track) string {
	if v := t.Version(); v != "" {
		return v
	}
	return "own chain"
}
