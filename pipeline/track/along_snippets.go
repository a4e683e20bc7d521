package track

import (
	"math"

	"ledgerline/pipeline/along"
	"ledgerline/stages"
)

// snippets keeps the waveform around every place that may still be among those to be shown. Which those are
// is known only at the end; until then there are some hundred candidates.
type snippets struct {
	half int64 // frames to each side of a place
	lag  int64 // how many frames may pass before a place becomes a candidate

	driven, out stages.Block // the last frames before those in work
	from, begin int64        // first frame of those, and of the ones in work
	end         int64        // the frame after them
	looked      int64        // the end at the last look
	inDriven    stages.Block // what is in work
	inOut       stages.Block
	taken       map[place]along.Wave
	candidates  int // at the last look
}

// A place is a frame of a channel, from 0.
type place struct {
	frame   int64
	channel int
}

func newSnippets(rate, channels, lag int) *snippets {
	return &snippets{
		half: int64(rate)*3/2000 + along.Margin, lag: int64(lag),
		driven: stages.NewBlock(channels, 0), out: stages.NewBlock(channels, 0),
		taken: map[place]along.Wave{},
	}
}

// take takes frames into work, until keep.
func (s *snippets) take(driven, out stages.Block) {
	s.begin, s.inDriven, s.inOut = s.end, driven, out
	s.end += int64(driven.Frames())
}

// look takes the waveforms around the candidates that there are now. A candidate near the end waits for the
// frames after it.
func (s *snippets) look(last bool, candidates func(each func(frame int64, channel int))) {
	s.candidates = 0
	candidates(func(frame int64, channel int) {
		s.candidates++
		switch reach := frame + s.half; {
		case reach < s.looked-s.lag, reach >= s.end && !last:
			return // taken already; not yet
		}
		at := place{frame, channel}
		if _, done := s.taken[at]; !done {
			s.taken[at] = s.wave(at)
		}
	})
	s.looked = s.end
	if len(s.taken) > 2*s.candidates+256 {
		s.forget(candidates)
	}
}

// keep keeps of what is in work, and of what was before it, the last frames that may be asked for.
func (s *snippets) keep() {
	most := int(2*s.half + s.lag + s.end - s.looked)
	for c := range s.inDriven {
		s.driven[c], s.out[c] = lastFrames(s.driven[c], s.inDriven[c], most), lastFrames(s.out[c], s.inOut[c], most)
	}
	s.from, s.begin = s.end-int64(s.driven.Frames()), s.end
	s.inDriven, s.inOut = nil, nil
}

// lastFrames is the last frames of some and of those that follow them.
func lastFrames(before, x []float64, most int) []float64 {
	if len(x) >= most {
		return append(before[:0], x[len(x)-most:]...)
	}
	if drop := len(before) + len(x) - most; drop > 0 {
		before = before[:copy(before, before[drop:])]
	}
	return append(before, x...)
}

// at is a frame of what was kept, or of what is in work.
func (s *snippets) at(kept, now stages.Block, channel int, frame int64) float64 {
	if frame < s.begin {
		return kept[channel][frame-s.from]
	}
	return now[channel][frame-s.begin]
}

// forget drops what is no candidate any more.
func (s *snippets) forget(candidates func(each func(frame int64, channel int))) {
	kept := map[place]along.Wave{}
	candidates(func(frame int64, channel int) {
		at := place{frame, channel}
		if w, ok := s.taken[at]; ok {
			kept[at] = w
		}
	})
	s.taken = kept
}

// wave is the waveform around a place, as far as there is one.
func (s *snippets) wave(at place) along.Wave {
	first, end := max(s.from, at.frame-s.half), min(s.end, at.frame+s.half+1)
	w := along.Wave{
		Frame: at.frame, Channel: at.channel + 1, First: first,
		Driven: make([]int32, 0, end-first), Removed: make([]int32, 0, end-first),
	}
	for f := first; f < end; f++ {
		x, y := s.at(s.driven, s.inDriven, at.channel, f), s.at(s.out, s.inOut, at.channel, f)
		w.Driven = append(w.Driven, tenThousandths(x))
		w.Removed = append(w.Removed, tenThousandths(x-y))
	}
	w.Removed = trimmed(w.Removed)
	return w
}

// tenThousandths is a sample in 1e-4 of full scale, at most 1000 times full scale.
func tenThousandths(x float64) int32 {
	return int32(math.Round(min(max(x*1e4, -1e7), 1e7)))
}

// find is the waveforms of places, in their order.
func (s *snippets) find(places []place) []along.Wave {
	var all []along.Wave
	for _, at := range places {
		if w, ok := s.taken[at]; ok {
			all = append(all, w)
		}
	}
	return all
}
