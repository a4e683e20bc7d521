package track

import (
	"errors"
	"fmt"
	"io"

	"golang.org/x/sync/semaphore"

	"ledgerline/stages"
)

// lanes is the pass as work that can be done at once: reading, each stage,
// each meter and the writing; with it the passes that branch off it.
func (p *Pass) lanes(batches []batch, tokens *semaphore.Weighted, branches ...*Pass) *lanes {
	l := newLanes(batches, tokens)
	p.addLanes(l)
	for _, other := range branches {
		var own lanes
		other.addLanes(&own)
		for _, n := range own.all {
			work := n.work
			n.work = func(b *batch) error { return work(&b.branches[other.branch.number]) }
		}
		l.all = append(l.all, own.all...)
	}
	return l
}

// addLanes adds the lanes that are the pass's own.
func (p *Pass) addLanes(l *lanes) {
	p.branch.filling = make([][]*lane, len(p.links)+1)
	meters := make([]*lane, len(p.links)+1)
	for k := range p.branch.filling {
		p.branch.filling[k] = p.addFilling(l, k)
		last := p.branch.filling[k]
		if len(p.meters) > 0 && p.metersOwn(k) {
			p.addMeter(l, last, k, meters)
		}
		p.addShort(l, last, k)
		if k > 0 {
			p.addParts(l, k, func(p *Pass, l *lanes) {
				p.addCuts(l, last, k-1)
				p.addHearing(l, last, k)
			})
		}
	}
	last := p.branch.filling[len(p.links)]
	p.addWriting(l, last)
	p.addParts(l, len(p.links), func(p *Pass, l *lanes) { p.addWhole(l, last) })
}

// addFilling is the lanes that fill boundary k. They are added if it is the pass's own.
func (p *Pass) addFilling(l *lanes, k int) (filling []*lane) {
	switch {
	case !p.branch.reads(k):
		return p.branch.of.branch.filling[k]
	case k == 0:
		return []*lane{l.add("reading", nil, p.read)}
	}
	link := p.links[k-1]
	for c := range link.stages {
		filling = append(filling, l.add("stage "+link.name, p.branch.filling[k-1], func(b *batch) error {
			p.process(b, k-1, c)
			return nil
		}))
	}
	return filling
}

// addMeter adds the lane of the meter at boundary k to meters. One that follows another comes after that,
// too.
func (p *Pass) addMeter(l *lanes, follows []*lane, k int, meters []*lane) {
	if len(p.meters) == 0 || k > 0 && p.meters[k] == p.meters[k-1] || !p.reads(k) {
		return
	}
	if pair := &p.pairs[k]; pair.follows {
		follows = append([]*lane{meters[pair.other]}, follows...)
	}
	meters[k] = l.add(fmt.Sprintf("the meter at boundary %d", k), follows, func(b *batch) error {
		p.meter(b, k)
		return nil
	})
	if p.stream != nil {
		r := p.readParts(k, func(part *Pass) partMeter { return part.meters[k] })
		l.add(fmt.Sprintf("the tracks' meters at boundary %d", k), follows, func(b *batch) error {
			r.read(b.at[k])
			return nil
		})
	}
}

// read fills boundary 0 of a batch from the file.
func (p *Pass) read(b *batch) error {
	in := withFrames(b.at[0], p.frames)
	n, err := p.from.Read(in)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	b.last = n < p.frames
	b.at[0] = withFrames(in, n)
	b.in = b.at[0]
	var odd error
	if p.info.Encoding.WordBits() == 0 {
		odd = p.odd.look(b)
	}
	b.share()
	return odd
}

// process takes a batch through part c of stage k, from boundary k to the next.
func (p *Pass) process(b *batch, k, c int) {
	link := p.links[k]
	in, out := p.boundary(b, k), b.at[k+1]
	if len(link.stages) > 1 {
		in, out = in[c:c+1], out[c:c+1]
	}
	done := link.stages[c].Process(out.Empty(), in)
	if b.last {
		done = link.stages[c].Flush(done)
	}
	copy(out, done)
	if k == p.limits {
		p.limiters[c].limit(out)
	}
}

// end is what the chain finished because of a batch.
func (p *Pass) end(b *batch) stages.Block { return p.boundary(b, len(p.links)) }

// boundary is what passed boundary k because of a batch, as the chain was fed it.
func (p *Pass) boundary(b *batch, k int) stages.Block {
	if k == 0 {
		return b.in
	}
	return b.at[k]
}

func (p *Pass) write(b *batch) error {
	out := p.end(b)
	if err := p.To.Write(out); err != nil {
		return err
	}
	if p.Advance != nil {
		p.Advance(out.Frames())
	}
	var err error
	p.pad(b, func(silence stages.Block) {
		if err = p.To.Write(silence); err == nil && p.Advance != nil {
			p.Advance(silence.Frames())
		}
	})
	return err
}

// withFrames is b with that many frames in each channel, of any value.
func withFrames(b stages.Block, frames int) stages.Block {
	for c := range b {
		if cap(b[c]) < frames {
			b[c] = make([]float64, frames)
		}
		b[c] = b[c][:frames]
	}
	return b
}
