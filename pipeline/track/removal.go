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
	idle     bool   // nothing can be removed, and nothing clipped
	across   bool   // the rate changes in between: only what is clipped of the driven input can be told
	driven   driven // across
	delay    delay  // not across
	made     stages.Block
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
	if k := p.limits; k >= 0 && k < from && chain[k].Of().Multiplies != nil {
		from = k // what the encoding limits is removed, too
	}
	p.whole = p.newRemoval(chain, from, to, lowestCeiling(chain))
	p.whole.across = !ok
	if ok && stages.MayClip(chain, to) {
		p.clips = p.newRemoval(chain, from, len(chain), lowestCeiling(chain))
	}
}

// wholeCutting is what the whole chain took away: before the dither at its end, or after it where that had to
// clip.
func (p *Pass) wholeCutting() ledger.Cutting {
	if p.clips != nil {
		for k := p.whole.to; k < len(p.chain); k++ {
			if p.effect(k).Clamped > 0 {
				return p.clips.cutting()
			}
		}
	}
	return p.whole.cutting()
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
	driven := newDriven(chain[from:to], p.info.Channels)
	return &removal{
		from: from, to: to,
		idle:   from == to && math.IsInf(ceiling, 1),
		driven: driven, delay: delay{gains: driven.gains},
		rate: p.rates[from],
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
		return p.cuts[k].take(p, b, nil)
	})
}

// addWhole measures, and writes if that was asked for, what the whole chain takes away.
func (p *Pass) addWhole(l *lanes, follows []*lane) {
	if p.whole == nil || p.whole.idle && p.clips == nil && p.Removed == nil && p.recorder == nil {
		return
	}
	tell := p.takeWhole
	l.add("what was removed", follows, p.alone(func(b *batch) error {
		if err := p.whole.take(p, b, tell); err != nil {
			return err
		}
		if p.clips != nil {
			if err := p.clips.take(p, b, nil); err != nil {
				return err
			}
		}
		if p.recorder != nil {
			p.recorder.end(p, b)
		}
		return nil
	}))
}

// takeWhole takes a part of what the chain handed on because of a batch, from a frame on, and the driven
// input of that.
func (p *Pass) takeWhole(b *batch, driven stages.Block, from int) error {
	if p.recorder != nil {
		p.recorder.take(p, b, driven, from)
	}
	if p.Removed == nil {
		return nil
	}
	p.whole.made = window(p.whole.made, p.end(b), int64(from), int64(from+driven.Frames()))
	return p.Removed.write(driven, p.whole.made)
}

// take measures a batch, and tells, if asked to, part by part of the driven input of the frames that it ended
// with.
func (r *removal) take(p *Pass, b *batch, tell func(b *batch, driven stages.Block, from int) error) error {
	in := p.boundary(b, r.from)
	if r.across {
		driven := r.driven.input(in, in.Frames())
		r.meter.Write(driven, driven)
		if tell != nil {
			return tell(b, driven, 0)
		}
		return nil
	}
	out := p.boundary(b, r.to)
	r.delay.feed(in, out.Frames())
	for {
		driven, from, ok := r.delay.next()
		if !ok {
			return nil
		}
		r.made = window(r.made, out, int64(from), int64(from+driven.Frames()))
		r.meter.Write(driven, r.made)
		if r.tell {
			r.compare(driven, r.made)
		}
		if tell == nil {
			continue
		}
		if err := tell(b, driven, from); err != nil {
			return err
		}
	}
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
