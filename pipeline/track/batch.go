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
}

// A workspace is the memory of one track in work. Tracks use it one after the
// other, so that a long release touches no more memory than a short one.
type workspace struct {
	batches []batch
}

// fit readies n batches for a track of so many boundaries and channels.
func (w *workspace) fit(n, boundaries, channels int) []batch {
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
	}
	return w.batches[:n]
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
