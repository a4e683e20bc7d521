package track

import (
	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// A partMeter reads the frames of one part of a stream. Around them the stream goes on, so
// that there is no silence for a true peak to rise in.
type partMeter interface {
	Before(last stages.Block, frames int64)
	Write(stages.Block)
	After(stages.Block)
}

// readParts is a reader for meters at boundary k, one of each of a stream's parts.
func (p *Pass) readParts(k int, of func(part *Pass) partMeter) *partReader {
	return p.readPartsAt(k, (*Pass).place, of)
}

// readPartsAt is readParts for parts that have their frames where at says.
func (p *Pass) readPartsAt(k int, at func(*Pass) part, of func(part *Pass) partMeter) *partReader {
	r := &partReader{boundary: k, around: meter.Context(p.rates[k])}
	for _, part := range p.stream.parts {
		r.parts, r.meters = append(r.parts, at(part)), append(r.meters, of(part))
	}
	return r
}

// A partReader gives meters of a stream's parts what is theirs and what is around it.
type partReader struct {
	parts    []part
	meters   []partMeter
	boundary int
	around   int // frames to each side that a meter can make use of

	had    int64        // frames of the stream
	recent stages.Block // the last of them
	own    stages.Block // scratch
}

// read gives the meters what a batch has.
func (r *partReader) read(b stages.Block) {
	if len(r.recent) == 0 {
		r.recent = stages.NewBlock(len(b), 0)
	}
	begin, end := r.had, r.had+int64(b.Frames())
	for i, part := range r.parts {
		start, stop := part.starts[r.boundary], part.ends[r.boundary]
		if start > 0 && start >= begin && start < end {
			r.meters[i].Before(r.before(b, int(start-begin)), start)
		}
		if from, to := max(start, begin), min(stop, end); from < to {
			r.meters[i].Write(r.window(b, from, to))
		}
		if from, to := max(stop, begin), min(stop+int64(r.around), end); from < to {
			r.meters[i].After(r.window(b, from, to))
		}
	}
	for c, x := range b {
		all := append(r.recent[c], lastOf(x, r.around)...)
		r.recent[c] = all[:copy(all, lastOf(all, r.around))]
	}
	r.had = end
}

// window is the frames of b from one of the stream on, to another.
func (r *partReader) window(b stages.Block, from, to int64) stages.Block {
	r.own = window(r.own, b, from-r.had, to-r.had)
	return r.own
}

// before is what comes before frame n of a block.
func (r *partReader) before(b stages.Block, n int) stages.Block {
	all := stages.NewBlock(len(b), 0)
	for c, x := range b {
		all[c] = append(append(all[c], r.recent[c]...), lastOf(x[:n], r.around)...)
	}
	return all
}

// lastOf is the last n values of x, or all.
func lastOf(x []float64, n int) []float64 {
	if len(x) <= n {
		return x
	}
	return x[len(x)-n:]
}
