package track

import (
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// A batch is one stretch of a track on its way down the chain: what the source
// gave, and what each stage finished because of it. Stages hold frames back,
// so the blocks of one batch may differ in length.
type batch struct {
	at    []stages.Block // at[k] is what boundary k got
	in    stages.Block   // at[0] as the chain is fed it: without what is not finite
	clean stages.Block   // memory of in, where at[0] cannot serve
	marks [][]meter.Mark // marks[k] is what the meter of boundary k has for the one that follows it
	last  bool           // nothing follows: stages flush

	// Of a tree, what each pass after the first has of the batch. Up to where it branches off, its boundaries
	// are those of the other pass.
	branches []batch
	own      []stages.Block // memory of the others
}

// A workspace is the memory of one track in work. Tracks use it one after the
// other, so that a long release touches no more memory than a short one.
type workspace struct {
	batches []batch
}

// fit readies n batches for a track of so many boundaries and channels, and for the passes that branch off
// the first of its tree.
func (w *workspace) fit(n, boundaries, channels int, branches ...*Pass) []batch {
	for len(w.batches) < n {
		w.batches = append(w.batches, batch{})
	}
	for i := range w.batches[:n] {
		b := &w.batches[i]
		b.last, b.in = false, nil
		b.clean = withChannels(b.clean, channels)
		for len(b.at) < boundaries {
			b.at = append(b.at, nil)
		}
		for len(b.marks) < boundaries {
			b.marks = append(b.marks, nil)
		}
		for k := range b.at {
			b.at[k] = withChannels(b.at[k], channels)
		}
		b.fitBranches(branches, channels)
	}
	return w.batches[:n]
}

func (b *batch) fitBranches(branches []*Pass, channels int) {
	for len(b.branches) < len(branches) {
		b.branches = append(b.branches, batch{})
	}
	for i, p := range branches {
		own, of := &b.branches[i], b
		if p.branch.of.branch.of != nil {
			of = &b.branches[p.branch.of.branch.number]
		}
		own.at = append(own.at[:0], of.at[:p.branch.shared+1]...)
		for k := range len(p.chain) - p.branch.shared {
			if k == len(own.own) {
				own.own = append(own.own, nil)
			}
			own.own[k] = withChannels(own.own[k], channels)
			own.at = append(own.at, own.own[k])
		}
		for len(own.marks) < len(own.at) {
			own.marks = append(own.marks, nil)
		}
	}
}

// share lets the branches of a batch have what has been read.
func (b *batch) share() {
	for i := range b.branches {
		own := &b.branches[i]
		own.in, own.last = b.in, b.last
		if len(own.at) > 0 {
			own.at[0] = b.at[0]
		}
	}
}

// withChannels is b, emptied, with that many channels. It keeps the memory of
// the channels it drops within b's own array.
func withChannels(b stages.Block, channels int) stages.Block {
	b = b[:cap(b)]
	for len(b) < channels {
		b = append(b, nil)
	}
	return b[:channels].Empty()
}
