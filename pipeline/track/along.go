package track

import (
	"math"

	"ledgerline/pipeline/along"
	"ledgerline/stages"
	"ledgerline/stages/ear"
	"ledgerline/stages/kernel"
	"ledgerline/stages/meter"
)

// A recorder makes the record along a track, from what is measured of it anyway. The lane that measures what
// was removed gives it the samples, and the listener its windows: neither touches what is the other's.
type recorder struct {
	rate   int   // of the driven input
	frames int64 // of the driven input
	all    int64 // segments of it

	columns       []column
	in, out       cursor
	near          *near
	cuts, moments *snippets
	made          stages.Block // scratch

	noise    []noiseColumn
	hop      int64
	spectrum spectrum
}

// column is what was found in one.
type column struct {
	in, out         float64 // peaks
	removed, driven float64 // energies
	clipped         int64
}

// noiseColumn is what was heard in a column: of each channel the sum of its windows' noise to mask.
type noiseColumn struct {
	sums    []float64
	windows []int64
}

// A cursor finds the columns of frames that come one after the other.
type cursor struct {
	rate       int
	frames     int64 // of the track, at that rate
	column     int
	frame, end int64
}

// Record makes a record along the track. It is called after Measure and Hear, with the ceiling of the
// release.
func (p *Pass) Record(ceilingDBFS float64) {
	r := &recorder{rate: p.whole.rate, frames: p.frameAt(p.info.Frames, p.whole.from)}
	end := len(p.chain)
	r.in, r.out = cursor{rate: r.rate, frames: r.frames}, cursor{
		rate: p.rates[end], frames: p.frameAt(p.info.Frames, end),
	}
	r.columns = make([]column, along.Columns(r.rate, r.frames))
	r.all = along.Segments(r.rate, r.frames)
	ceiling := lowestCeiling(p.chain)
	if math.IsInf(ceiling, 1) {
		ceiling = stages.Linear(ceilingDBFS)
	}
	r.near = newNear(ceiling)
	r.cuts = newSnippets(r.rate, p.info.Channels, 0)
	p.whole.meter.OnSegment(r.segment)
	if f := p.toldWhole; f.by != nil && !p.whole.across {
		r.moments = newSnippets(r.rate, p.info.Channels, ear.WindowFrames(r.rate))
		r.hop = int64(ear.WindowFrames(r.rate) / 2)
		r.noise = make([]noiseColumn, len(r.columns))
		for i := range r.noise {
			r.noise[i] = noiseColumn{make([]float64, p.info.Channels), make([]int64, p.info.Channels)}
		}
		f.by.reader.OnWindow(func(w ear.Window) {
			if w.Comparison == f.comparison {
				r.window(w)
			}
		})
	}
	p.recorder = r
}

// take takes a part of a batch, from a frame on: the driven input, and what the chain made of it before the
// dither.
func (r *recorder) take(p *Pass, b *batch, driven stages.Block, from int) {
	r.peaks(&r.in, driven, func(c *column, peak float64) { c.in = max(c.in, peak) })
	for c := range driven {
		r.near.count(r.near.before, driven[c])
	}
	if p.whole.across {
		return
	}
	out := p.boundary(b, p.whole.to)
	r.made = window(r.made, out, int64(from), int64(from+driven.Frames()))
	r.cuts.take(driven, r.made)
	if from+driven.Frames() == out.Frames() {
		r.cuts.look(false, p.whole.meter.Candidates)
	}
	r.cuts.keep()
}

// end takes the chain's output of a batch.
func (r *recorder) end(p *Pass, b *batch) {
	end := p.end(b)
	r.peaks(&r.out, end, func(c *column, peak float64) { c.out = max(c.out, peak) })
	for c := range end {
		r.near.count(r.near.after, end[c])
	}
	r.near.samples += int64(end.Frames() * len(end))
	if b.last && !p.whole.across {
		r.cuts.look(true, p.whole.meter.Candidates)
	}
}

// peaks finds the largest magnitudes in the columns of a block.
func (r *recorder) peaks(at *cursor, b stages.Block, meet func(*column, float64)) {
	for from, frames := 0, b.Frames(); from < frames; {
		if at.frame >= at.end && !r.next(at) {
			return
		}
		to := int(min(int64(frames), int64(from)+at.end-at.frame))
		for c := range b {
			meet(&r.columns[at.column], kernel.MaxAbs(b[c][from:to]))
		}
		at.frame += int64(to - from)
		from = to
	}
}

// next moves a cursor to the column of its frame, and reports whether there is one.
func (r *recorder) next(at *cursor) bool {
	if at.end > 0 {
		at.column++
	}
	if at.column >= len(r.columns) {
		return false
	}
	_, at.end = along.Bounds(at.rate, at.frames, at.column, len(r.columns))
	return true
}

// segment takes what was removed in a segment.
func (r *recorder) segment(s meter.RemovalSegment) {
	if i := r.columnOf(s.Number); i >= 0 && i < len(r.columns) {
		c := &r.columns[i]
		c.removed += s.Removed
		c.driven += s.Driven
		c.clipped += s.Clipped
	}
}

// columnOf is the column that a segment is in: the last that begins with it or before it. Without columns it
// is -1.
func (r *recorder) columnOf(segment int64) int {
	if r.all == 0 {
		return -1
	}
	return int(((segment+1)*int64(len(r.columns)) - 1) / r.all)
}

// columnAt is the column that a frame is in.
func (r *recorder) columnAt(frame int64) int {
	return min(r.columnOf(along.Segment(r.rate, frame)), len(r.columns)-1)
}

// window takes what was heard in a window, to the columns that its middle half is in.
func (r *recorder) window(w ear.Window) {
	if w.Noise != nil {
		r.spectrum.add(w)
	}
	if from := w.Frame + r.hop/2; from < r.frames {
		for i := r.columnAt(from); i <= r.columnAt(min(from+r.hop, r.frames)-1); i++ {
			r.noise[i].sums[w.Channel] += w.Mean
			r.noise[i].windows[w.Channel]++
		}
	}
}

// heard takes what the listener hears of the whole chain in a batch.
func (r *recorder) heard(l *listener, comparison int, last bool) {
	after := l.reader.After(comparison)
	r.moments.take(l.lined[0], l.lined[after])
	r.moments.look(last, func(each func(int64, int)) {
		l.reader.Candidates(comparison, each)
	})
	r.moments.keep()
}

// A spectrum adds up powers in bands.
type spectrum struct {
	windows                  int64
	programme, mask, changed []float64
}

func (s *spectrum) add(w ear.Window) {
	if s.windows++; s.programme == nil {
		n := len(w.Noise)
		s.programme, s.mask, s.changed = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	for k, noise := range w.Noise {
		s.programme[k] += w.Programme[k]
		s.mask[k] += w.Mask[k]
		s.changed[k] += noise
	}
}
