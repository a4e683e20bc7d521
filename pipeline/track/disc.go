package track

import (
	"ledgerline/pipeline/ledger"
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// A cut is what of a pass goes into its file: frames of the last boundary, those of its stream where it has
// one, and silence after them.
type cut struct{ from, to, pad int64 }

// A disc is what a pass has that writes whole frames of a disc. The zero disc is that of one that does not.
type disc struct {
	whole bool
	meter *meter.Meter // reads what is written, where that is not what passes the last boundary; nil: it is
}

// WholeDiscFrames has a file of whole frames of a disc be written, after Measure and before Output: the last
// one is filled up with digital silence. Of a stream, a cut between two tracks moves back to the whole frame
// before it, so that the files joined are still the stream, and nothing of a track's start is lost to whoever
// begins with it; only the last file is filled up. Headroom counts down from the release's ceiling, dBFS.
func (p *Pass) WholeDiscFrames(ceilingDBFS float64) {
	all := p.Parts()
	if all == nil {
		all = []*Pass{p}
	}
	odd := false
	for _, part := range all {
		part.disc.whole = true
		odd = odd || part.cut() != part.own()
	}
	if !odd {
		return
	}
	last := len(p.chain)
	for _, part := range all {
		part.disc.meter = meter.New(meter.Options{
			Rate:      p.rates[last],
			Weights:   meter.Weights(p.info.Channels, p.info.Mask),
			Ceiling:   stages.Linear(ceilingAt(last, p.chain, ceilingDBFS)),
			WholeBand: true,
		})
	}
}

// own are the frames of the last boundary that are a pass's own.
func (p *Pass) own() cut {
	last := len(p.chain)
	if p.part.of != nil {
		return cut{from: p.part.starts[last], to: p.part.ends[last]}
	}
	return cut{to: p.frameAt(p.info.Frames, last)}
}

// cut is what goes into the file of a pass.
func (p *Pass) cut() cut {
	c := p.own()
	if !p.disc.whole {
		return c
	}
	c.from -= c.from % ledger.DiscFrame
	if p.part.of != nil && p.part.number < len(p.part.of.stream.parts)-1 {
		c.to -= c.to % ledger.DiscFrame
	} else if over := (c.to - c.from) % ledger.DiscFrame; over > 0 {
		c.pad = ledger.DiscFrame - over
	}
	return c
}

// written is where a part has its frames, but at the last boundary what goes into its file.
func (p *Pass) written() part {
	at, c, last := p.part, p.cut(), len(p.chain)
	at.starts = append(at.starts[:last:last], c.from)
	at.ends = append(at.ends[:last:last], c.to)
	return at
}

// addWriting adds the lanes that write, and that read what is written where it is not what passes the last
// boundary.
func (p *Pass) addWriting(l *lanes, follows []*lane) {
	p.addPartsAt(l, len(p.links), (*Pass).written, func(p *Pass, l *lanes) {
		l.add("writing", follows, p.alone(p.write))
	})
	if p.stream == nil && p.disc.meter != nil {
		l.add("the meter of the file", follows, p.alone(func(b *batch) error {
			p.disc.meter.Write(p.end(b))
			p.pad(b, p.disc.meter.Write)
			return nil
		}))
	}
	if p.stream != nil && p.stream.parts[0].disc.meter != nil {
		p.addFileMeters(l, follows)
	}
}

// addFileMeters adds the lane of the meters of a stream's files.
func (p *Pass) addFileMeters(l *lanes, follows []*lane) {
	last := len(p.links)
	r := p.readPartsAt(last, (*Pass).written, func(part *Pass) partMeter { return part.disc.meter })
	end := p.stream.parts[len(p.stream.parts)-1]
	l.add("the meters of the files", follows, p.alone(func(b *batch) error {
		r.read(b.at[last])
		end.pad(b, end.disc.meter.Write)
		return nil
	}))
}

// pad hands on the silence after the last frame of a file, once the last batch is there.
func (p *Pass) pad(b *batch, to func(stages.Block)) {
	if !p.disc.whole || !b.last {
		return
	}
	if n := p.cut().pad; n > 0 {
		to(stages.NewBlock(p.info.Channels, int(n)))
	}
}

// asWritten is the reading of the file of a pass, where that is not what passed the last boundary; else nil.
func (p *Pass) asWritten(ceilingDBFS float64) *ledger.Boundary {
	if p.disc.meter == nil || p.cut() == p.own() {
		return nil
	}
	last := len(p.chain)
	b := ledger.NewBoundary(last, p.boundaryName(last), p.disc.meter.Reading(), p.rates[last], ceilingDBFS)
	return &b
}

// File is the ledger's account of how long the file of a pass is.
func (p *Pass) File() ledger.Output {
	c := p.cut()
	return ledger.Output{Frames: c.to - c.from + c.pad, DiscFrames: p.disc.whole, PaddedFrames: c.pad,
		LeadFrames: p.own().from - c.from}
}
