package track

import (
	"slices"

	"ledgerline/stages"
)

// A pair says whether the meter of a boundary follows that of the boundary before it, or leads that of a
// boundary after it: what it reads there is alike, and only one of them need look everywhere for the true
// peak.
type pair struct {
	follows, leads bool
	other          int             // the boundary of the other one
	like           stages.Likeness // of a meter that leads
}

// pairMeters finds the pairs. A meter that follows cannot lead: it has not looked everywhere.
func (p *Pass) pairMeters() {
	p.pairs = make([]pair, len(p.meters))
	for k := 1; k < len(p.meters); k++ {
		kind := p.chain[k-1].Of()
		before := p.firstWith(k - 1)
		if kind.Like == nil || p.pairs[before].follows || !p.reads(k) || !p.reads(before) || k-1 == p.limits {
			continue
		}
		// A meter of another pass has its pair there.
		if !p.metersOwn(before) || !p.metersOwn(k) {
			continue
		}
		p.pairs[k] = pair{follows: true, other: before}
		p.pairs[before] = pair{leads: true, other: k, like: kind.Like(p.chain[k-1].Settings)}
	}
}

// firstWith is the first boundary that the meter of one reads. Those after it add nothing to it.
func (p *Pass) firstWith(k int) int { return slices.Index(p.meters, p.meters[k]) }

// meter has the meter of boundary k read a batch.
func (p *Pass) meter(b *batch, k int) {
	m, pair := p.meters[k], &p.pairs[k]
	switch {
	case pair.leads:
		b.marks[k] = m.Lead(b.at[k], pair.like, b.marks[k][:0])
	case pair.follows:
		m.Follow(b.at[k], b.marks[pair.other])
	default:
		m.Write(b.at[k])
	}
}
