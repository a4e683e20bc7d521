package track

import (
	"math"

	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/kernel"
	"ledgerline/stages/meter"
)

// A removal measures what the stages between two boundaries took away.
type removal struct {
	from, to int
	idle     bool // nothing can be removed, and nothing clipped
	across   bool // the rate changes in between: only what is clipped of the driven input can be told
	driven   driven
	rate     int
	meter    *meter.Removal

	// Of one stage on a part of a stream, see stages.Effect:
	tell    bool
	ceiling float64
	touched int64
	deepest float64
}

// setRemovals measures what each stage that cuts takes away, and the whole chain.
func (p *Pass) setRemovals() {
	chain := p.chain
	for k, use := range chain {
		if !p.branch.has(k) {
			p.cuts = append(p.cuts, p.branch.of.cuts[k])
			continue
		}
		var cuts *removal
		if use.Of().Cuts && p.brief == nil {
			cuts = p.newRemoval(chain, k, k+1, lowestCeiling(chain[k:k+1]))
			cuts.tell, cuts.ceiling = p.part.of != nil, lowestCeiling(chain[k:k+1])
		}
		p.cuts = append(p.cuts, cuts)
	}
	from, to, ok := stages.Told(chain)
	p.whole = p.newRemoval(chain, from, to, lowestCeiling(chain))
	p.whole.across = !ok
}

// lowestCeiling is the lowest of those that the stages are to hold, a dither's too, as
// a magnitude; infinite: they have none.
func lowestCeiling(chain []stages.Use) float64 {
	ceiling := math.Inf(1)
	for _, use := range chain {
		if c, ok := use.Settings.Ceiling(); ok {
			ceiling = min(ceiling, c)
		}
	}
	return ceiling
}

func (p *Pass) newRemoval(chain []stages.Use, from, to int, ceiling float64) *removal {
	return &removal{
		from: from, to: to,
		idle:   from == to && math.IsInf(ceiling, 1),
		driven: newDriven(chain[from:to], p.info.Channels),
		rate:   p.rates[from],
		meter: meter.NewRemoval(meter.RemovalOptions{
			Rate: p.rates[from], Channels: p.info.Channels, Ceiling: ceiling,
		}),
	}
}

// cutting is what was taken away.
func (r *removal) cutting() ledger.Cutting { return ledger.NewCutting(r.meter.Reading(), r.rate) }

// cutting is what stage k took away, nil if it is one that takes nothing.
func (p *Pass) cutting(k int, readings []meter.Reading) *ledger.Cutting {
	switch {
	case p.cuts[k] != nil:
		c := p.cuts[k].cutting()
		return &c
	case p.chain[k].Of().Reads:
		return nil
	}
	return ledger.LimitCutting(readings[k], p.effect(k))
}

// addCuts measures what stage k takes away.
func (p *Pass) addCuts(l *lanes, follows []*lane, k int) {
	if len(p.cuts) == 0 || p.cuts[k] == nil || !p.branch.has(k) {
		return
	}
	l.add("what "+p.chain[k].Name+" removed", follows, func(b *batch) error {
		p.cuts[k].take(p, b)
		return nil
	})
}

// addWhole measures, and writes if that was asked for, what the whole chain takes away.
func (p *Pass) addWhole(l *lanes, follows []*lane) {
	if p.whole == nil || p.whole.idle && p.Removed == nil && p.recorder == nil {
		return
	}
	l.add("what was removed", follows, p.alone(func(b *batch) error {
		driven := p.whole.take(p, b)
		if p.recorder != nil {
			p.recorder.take(p, b, driven)
		}
		if p.Removed == nil {
			return nil
		}
		return p.Removed.write(driven, p.end(b))
	}))
}

// take measures a batch, and returns the driven input of the frames that it ended with.
func (r *removal) take(p *Pass, b *batch) stages.Block {
	if r.across {
		in := p.boundary(b, r.from)
		driven := r.driven.input(in, in.Frames())
		r.meter.Write(driven, driven)
		return driven
	}
	out := p.boundary(b, r.to)
	driven := r.driven.input(p.boundary(b, r.from), out.Frames())
	r.meter.Write(driven, out)
	if r.tell {
		r.compare(driven, out)
	}
	return driven
}

// compare finds what a stage has done to the frames, as the stage's own effect does.
func (r *removal) compare(in, out stages.Block) {
	for c := range in {
		touched, cut, _ := kernel.Taken(in[c], out[c], r.ceiling)
		r.touched += int64(touched)
		if cut > 1 {
			r.deepest = max(r.deepest, cut)
		}
	}
}
