package meter

import (
	"fmt"
	"slices"

	"ledgerline/stages"
	"ledgerline/stages/kernel"
)

// RemovalOptions say what a Removal is to know of the signal.
type RemovalOptions struct {
	Rate     int     // frames a second, 8000 to 384000
	Channels int     // 1 or more
	Ceiling  float64 // linear magnitude beyond which a sample is clipped; infinite: none is
}

// Removal measures what a stage, or a chain of them, took from a signal: the
// driven input minus the output. It is not safe for use by several goroutines at
// once. Its memory does not grow with the track.
type Removal struct {
	o       RemovalOptions
	frame   int64 // the next
	end     int64 // of the segment that is being filled
	n       int64 // segments before it
	lanes   [][16]float64
	clipped int64
	total   energies
	worst   windows
	cuts    cuts
}

// energies are sums of squares over all channels.
type energies struct{ removed, driven float64 }

func (e *energies) add(o energies) {
	e.removed += o.removed
	e.driven += o.driven
}

// RemovalReading is what a Removal found. Samples that are not finite, or beyond
// 1e100, are left out of its sums.
type RemovalReading struct {
	Samples    int64   // of all channels
	Removed    float64 // sum of squares of the driven input minus the output
	Driven     float64 // sum of squares of the driven input
	Clipped    int64   // samples of the driven input beyond the ceiling
	Worst400ms RemovalWindow
	Worst3s    RemovalWindow
	Cuts       []Cut // at most ten, deepest first, more than 50 ms apart
}

// NewRemoval returns one that has seen nothing. It panics if the rate is out of
// range or there is no channel.
func NewRemoval(o RemovalOptions) *Removal {
	if o.Rate < 8000 || o.Rate > 384000 {
		panic(fmt.Sprintf("meter: rate %d Hz is not within 8000 to 384000", o.Rate))
	}
	if o.Channels < 1 {
		panic("meter: no channels")
	}
	return &Removal{
		o:     o,
		end:   segmentStart(o.Rate, 1),
		lanes: make([][16]float64, o.Channels),
		cuts:  newCuts(o.Rate),
	}
}

// Write takes the frames of the driven input and those of the output that they
// became, any number. It keeps nothing of them, and panics if their channels are
// not those of the options or their frames differ.
func (r *Removal) Write(driven, out stages.Block) {
	frames := driven.Frames()
	if len(driven) != r.o.Channels || len(out) != r.o.Channels || out.Frames() != frames {
		panic("meter: blocks that do not belong together")
	}
	for from := 0; from < frames; {
		to := int(min(int64(frames), int64(from)+r.end-r.frame))
		r.piece(driven, out, from, to)
		r.frame += int64(to - from)
		from = to
		if r.frame == r.end {
			r.close()
		}
	}
}

// piece takes frames of one segment.
func (r *Removal) piece(driven, out stages.Block, from, to int) {
	at := int(r.frame - segmentStart(r.o.Rate, r.n))
	for c := range driven {
		in, out := driven[c][from:to], out[c][from:to]
		beyond, deep := kernel.Removed(in, out, r.o.Ceiling, r.cuts.least, at, &r.lanes[c])
		r.clipped += int64(beyond)
		if deep {
			r.cuts.search(in, out, r.o.Ceiling, r.frame, c)
		}
	}
}

// close ends a segment.
func (r *Removal) close() {
	var e energies
	for c := range r.lanes {
		s := &r.lanes[c]
		e.add(energies{kernel.Lanes((*[8]float64)(s[:8])), kernel.Lanes((*[8]float64)(s[8:]))})
		*s = [16]float64{}
	}
	r.total.add(e)
	r.worst.add(e)
	r.cuts.close(r.end)
	r.n++
	r.end = segmentStart(r.o.Rate, r.n+1)
}

// Reading is what has been found so far, as if the track ended here. It does not
// disturb the Removal.
func (r *Removal) Reading() RemovalReading {
	end := *r
	end.lanes = slices.Clone(r.lanes)
	end.cuts.found = slices.Clone(r.cuts.found)
	if r.frame > segmentStart(r.o.Rate, r.n) {
		end.close()
	}
	return RemovalReading{
		Samples:    r.frame * int64(r.o.Channels),
		Removed:    end.total.removed,
		Driven:     end.total.driven,
		Clipped:    r.clipped,
		Worst400ms: end.window(momentary, end.worst.momentary),
		Worst3s:    end.window(shortTerm, end.worst.shortTerm),
		Cuts:       slices.Clone(spaced(end.cuts.found, mostCuts, end.cuts.rate)),
	}
}

// window is the worst of so many segments: all of a track that is shorter.
func (r *Removal) window(segments int64, w window) RemovalWindow {
	if r.n < segments {
		w = window{0, r.total}
	}
	return RemovalWindow{segmentStart(r.o.Rate, w.first), w.removed, w.driven}
}
