package track

import (
	"fmt"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// shortMeters read a boundary as meters with short filters do. They read one signal: what one is told the
// other is told, too.
type shortMeters struct{ bs1770, sinc49 *meter.ShortMeter }

// setShort puts short meters at the chain's end, and where a measure requires something of their readings.
func (p *Pass) setShort() {
	p.short = make([]*shortMeters, len(p.chain)+1)
	put := func(k int) {
		if k = p.heard(k); !p.branch.reads(k) {
			p.short[k] = p.branch.of.short[k]
		}
		if p.short[k] == nil {
			bs1770, sinc49 := meter.NewShort(p.rates[k], p.info.Channels)
			p.short[k] = &shortMeters{bs1770, sinc49}
		}
	}
	for k, use := range p.chain {
		if use.Of().Reads && ledger.RequiresShort(use.Settings) {
			put(k + 1)
		}
	}
	put(len(p.chain))
}

// heard is the first boundary at which there is what there is at boundary k: a measure passes it on.
// Before the first stage the two may differ, by samples that are not finite.
func (p *Pass) heard(k int) int {
	for k > 1 && p.chain[k-1].Of().Reads {
		k--
	}
	return k
}

// addShort adds the lane of the short meters at boundary k, if there are any.
func (p *Pass) addShort(l *lanes, follows []*lane, k int) {
	if len(p.short) == 0 || p.short[k] == nil || !p.branch.reads(k) && p.short[k] == p.branch.of.short[k] {
		return
	}
	m := p.short[k].bs1770
	l.add(fmt.Sprintf("the short meters at boundary %d", k), follows, func(b *batch) error {
		m.Write(p.boundary(b, k))
		return nil
	})
	if p.stream != nil {
		r := p.readParts(k, func(part *Pass) partMeter { return part.short[k].bs1770 })
		l.add(fmt.Sprintf("the tracks' short meters at boundary %d", k), follows, func(b *batch) error {
			r.read(p.boundary(b, k))
			return nil
		})
	}
}

// shortAt is what the short meters read at boundary k; nothing where there are none.
func (p *Pass) shortAt(k int) (r ledger.ShortReadings) {
	if m := p.short[p.heard(k)]; m != nil {
		r.BS1770DBTP = ledger.Level(stages.DB(m.bs1770.Peak()))
		r.Sinc49DBTP = ledger.Level(stages.DB(m.sinc49.Peak()))
	}
	return r
}
