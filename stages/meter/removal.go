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

// RemovalSegment is what was found in one segment of 10 ms.
type RemovalSegment struct {
	Number          int64   // from 0
	Removed, Driven float64 // as in the RemovalReading
	Clipped         int64
}

// Removal measures what a stage, or a chain of them, took from a signal: the
// driven input minus the output. It is not safe for use by several goroutines at
// once. Its memory does not grow with the track.
type Removal struct {
	o       RemovalOptions
	tell    func(RemovalSegment) // nil: nobody is told
	frame   int64                // the next
	end     int64                // of the segment that is being filled
	n       int64                // segments before it
	lanes   [][16]float64
	clipped int64
	told    int64 // of the clipped, those before the segment that is being filled
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
	e := r.energies()
	clear(r.lanes)
	if r.tell != nil {
		r.tell(RemovalSegment{r.n, e.removed, e.driven, r.clipped - r.told})
		r.told = r.clipped
	}
	r.total.add(e)
	r.worst.add(e)
	r.cuts.close(r.end)
	r.n++
	r.end = segmentStart(r.o.Rate, r.n+1)
}

// energies are those of the segment that is being filled.
func (r *Removal) energies() energies {
	var e energies
	for c := range r.lanes {
		s := &r.lanes[c]
		e.add(energies{kernel.Lanes((*[8]float64)(s[:8])), kernel.Lanes((*[8]float64)(s[8:]))})
	}
	return e
}

// OnSegment has a function called for each segment, in their order, when its last frame is written.
func (r *Removal) OnSegment(tell func(RemovalSegment)) { r.tell = tell }

// Open is what has been found in the segment that is being filled, which OnSegment's function is not told of
// yet.
func (r *Removal) Open() RemovalSegment {
	e := r.energies()
	return RemovalSegment{r.n, e.removed, e.driven, r.clipped - r.told}
}

// Candidates tells of all cuts that may still be among the deepest; channels count from 0. They are no more
// than some hundred, rarely two thousand.
func (r *Removal) Candidates(each func(frame int64, channel int)) {
	for _, v := range r.cuts.found {
		each(v.Frame, v.Channel)
	}
	if r.cuts.any {
		for _, v := range r.cuts.best {
			if v.By > 0 {
				each(v.Frame, v.Channel)
			}
		}
	}
}

// Reading is what has been found so far, as if the track ended here. It does not
// disturb the Removal.
func (r *Removal) Reading() RemovalReading {
	end := *r
	end.tell = nil
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
