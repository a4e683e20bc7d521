package stages

import (
	"fmt"

	"ledgerline/stages/bandlimit"
)

const (
	tile = bandlimit.Tile
	// stretch is how many frames of a channel are held at once. A longer one moves them less often, a
	// shorter one stays in the cache. The hold rounds the places of true peaks as they are counted in it, so
	// that another length changes the last bits of what it does.
	stretch = 8192
)

// A tiler does a stage's work on one channel, tile by tile. Tiles and frames are
// counted as in the interpolator of its stream.
type tiler interface {
	// work is called for each tile in order, when Reach frames after it are there.
	work(t int)
	// finish makes of the stream's signal in a tile what goes out, for each tile in order, the
	// stream's lag after work. At the track's end y is shorter than a tile.
	finish(y []float64, t int)
	// drop says that the first tiles have been forgotten and others moved up.
	drop(tiles int)
}

// A stream takes one channel through an interpolator and a tiler: it is the
// worker of the stages that look between the samples.
type stream struct {
	in   *bandlimit.Interpolator
	by   tiler
	lag  int
	next int // the tile to work at next
	skip int // tiles before the track's first that are still to come out
	held int // frames of the track that are still to come out
}

// early is how many tiles before a track work begins: its first frames have values
// before them.
const early = 4

// leastStretch is the shortest stretch in which a stream of a lag can go on. What is held once there is no
// more room must reach a whole tile further than what the lag keeps, or makeRoom would find nothing to
// forget.
func leastStretch(lag int) int { return (lag + 1) * tile }

// start readies s for a track, with silence before it as far as by may look back. It panics if the
// interpolator's stretch is shorter than leastStretch.
func (s *stream) start(in *bandlimit.Interpolator, by tiler, lag int) {
	if held, least := in.Frames()+in.Room()-2*bandlimit.Reach, leastStretch(lag); held < least {
		panic(fmt.Sprintf("stages: a stretch of %d frames, want %d or more for a lag of %d tiles", held,
			least, lag))
	}
	*s = stream{in: in, by: by, lag: lag, skip: lag + early}
	in.PushZeros((lag + early) * tile)
	in.Begin()
	s.next = bandlimit.Reach/tile + lag
}

func (s *stream) push(dst, x []float64) []float64 {
	s.held += len(x)
	for len(x) > 0 {
		s.makeRoom()
		n := min(len(x), s.in.Room())
		s.in.Push(x[:n])
		x = x[n:]
		dst = s.advance(dst)
	}
	return dst
}

func (s *stream) flush(dst []float64) []float64 {
	s.in.End()
	for s.held > 0 {
		s.makeRoom()
		s.in.PushZeros(min(tile, s.in.Room()))
		dst = s.advance(dst)
	}
	return dst
}

// makeRoom forgets what no later tile needs, once there is no more room.
func (s *stream) makeRoom() {
	if s.in.Room() > 0 {
		return
	}
	tiles := s.next - s.lag - bandlimit.Reach/tile
	s.in.Drop(tiles * tile)
	s.by.drop(tiles)
	s.next -= tiles
}

func (s *stream) advance(dst []float64) []float64 {
	for (s.next+1)*tile+bandlimit.Reach <= s.in.Frames() {
		s.by.work(s.next)
		dst = s.emit(dst, s.next-s.lag)
		s.next++
	}
	return dst
}

func (s *stream) emit(dst []float64, t int) []float64 {
	if s.skip > 0 {
		s.skip--
		return dst
	}
	n := min(tile, s.held)
	s.held -= n
	at := len(dst)
	dst = append(dst, s.in.Signal()[t*tile:t*tile+n]...)
	s.by.finish(dst[at:], t)
	return dst
}

// shift moves x[by:] to the front of x and clears what it leaves behind.
func shift[T any](x []T, by int) {
	copy(x, x[by:])
	clear(x[len(x)-by:])
}

// shiftSpent is shift for an x of which the first by values are 0 already.
func shiftSpent(x []float64, by int) {
	copy(x, x[by:])
	clear(x[max(by, len(x)-by):])
}
