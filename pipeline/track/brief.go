package track

import (
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// A brief pass reads only what the chain as a whole comes to. Its Entry has the chain's two ends, the
// boundaries that a hold promises or a measure requires something of, and of the stages only what aliased in
// clips.
type brief struct {
	source *meter.Meter // it has read the mix already
	asked  []bool       // boundaries that are read
}

// Brief makes the pass a brief one. Source is a pass that has read the same mix for this chain, see
// ReadMixFor, whose meter of boundary 0 is taken for its own. It comes before Measure and Hear.
func (p *Pass) Brief(source *Pass, tries *Tries) {
	b := &brief{source: source.meters[0], asked: make([]bool, len(p.chain)+1)}
	b.asked[p.heard(len(p.chain))] = true
	for k, use := range p.chain {
		if use.Of().Reads {
			b.asked[p.heard(k+1)] = true
		}
	}
	for _, a := range tries.promises() {
		for k := a.stage + 1; k <= a.end; k++ {
			b.asked[p.heard(k)] = true
		}
	}
	p.brief = b
}

// ReadMixFor makes a pass through no stage the source of brief passes through a chain: its meter is as theirs
// would be. It comes before Measure.
func (p *Pass) ReadMixFor(chain []stages.Use) { p.mixOf = chain }

// promises are what the holds promise; nothing where there are no tries.
func (t *Tries) promises() aims {
	if t == nil {
		return nil
	}
	return t.aims
}

// reads says whether the pass itself reads a boundary.
func (p *Pass) reads(k int) bool {
	return p.brief == nil || k > 0 && p.brief.asked[k]
}

// FirstHold is the first stage whose aim the tries may lower: what comes before it is the same in each of
// them. Where there is none it is beyond the chain.
func (t *Tries) FirstHold() int {
	first := int(^uint(0) >> 1)
	for _, a := range t.promises() {
		first = min(first, a.stage)
	}
	return first
}

// known is the meter of a boundary that the pass does not read; nil: nobody reads it.
func (p *Pass) known(k int) *meter.Meter {
	if k == 0 {
		return p.brief.source
	}
	return nil
}

// briefly adds to an entry what a brief pass tells of stage k.
func (p *Pass) briefly(t *ledger.Track, ceilingDBFS float64, k int, readings []meter.Reading) {
	use := p.chain[k]
	r := ledger.StageResult{Stage: use.Name, Kind: use.Kind}
	if by := p.aliased; by != nil && by[k].by != nil {
		if found, ok := by[k].by.reader.Reading(by[k].comparison); ok {
			r.Audibility = &ledger.Audibility{LevelDBSPL: p.hearing.LevelDBSPL}
			r.Audibility.Aliased(found)
		}
	}
	t.Stages = append(t.Stages, r)
	if use.Of().Reads {
		c := p.ceiling(ceilingDBFS, k, readings)
		t.Requirements = append(t.Requirements, ledger.Judge(use, t.Boundaries[k+1], p.shortAt(k+1), c.Overs,
			t.Whole)...)
	}
}
