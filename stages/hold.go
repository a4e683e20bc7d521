package stages

import "ledgerline/stages/bandlimit"

const (
	holdFactor = 4
	holdPasses = 8
	// A pass works this many tiles behind the one before it: a pulse reaches two
	// tiles back from the tile it stands in, and a pass looks at the next tile.
	passLag = 3
	holdLag = holdPasses*passLag + 1
)

// holdAim is the level, dB below the ceiling, that a pass of a holder aims at. The margin
// covers what another interpolator makes of the band's edge. Each pass aims a hair higher
// than the one before it, so that what has settled is left alone.
func holdAim(pass int) float64 { return 0.007 - 0.0005*float64(pass) }

// A holder brings the peaks of one channel down to a ceiling. For each peak it
// takes away a band-limited pulse as high as the peak is over, its own peak where
// the signal's is, between the samples: of all band-limited signals that take that much off
// at that moment the pulse is the one of least energy. Pulses overlap, so that it
// takes some passes, in each of which the peaks are taken in their order in time, each
// on what the pulses before it have left. The passes follow each other at a fixed
// distance through the track.
//
// This is the iteration of repeated clipping and filtering (Armstrong, Electron. Lett. 38(5), 2002)
// with each peak's step scaled to its need (after Wang and Tellambura, IEEE SPL 12(6), 2005).
// It converges in a few passes, because pulses a sample and more apart hardly
// overlap, and it depends on the signal only and not on where the samples lie, so that it adds
// no aliasing.
type holder struct {
	ceiling float64
	aims    [holdPasses]float64
	find    func(h *holder, pass, tile int)
	in      *bandlimit.Interpolator
	changed []int64          // when a pulse last changed the tile, counted in pulses
	seen    []int64          // when a pass last looked at the tile, likewise; 0: never
	pulses  int64            // so far, and 1
	next    int              // the tile that the first pass works at
	values  bandlimit.Values // scratch

	skip    int // tiles before the track's first that are still to come out
	held    int // frames of the track that are still to come out
	clamped int64
}

func newHolder(ceiling float64, find func(*holder, int, int)) *holder {
	h := &holder{ceiling: ceiling, find: find, in: bandlimit.NewInterpolator(holdFactor)}
	for p := range h.aims {
		h.aims[p] = ceiling * Linear(-holdAim(p))
	}
	h.values = bandlimit.NewValues(holdFactor)
	n := (h.in.Frames() + h.in.Room()) / tile
	h.changed, h.seen, h.pulses = make([]int64, n), make([]int64, n), 1
	h.in.PushZeros(holdLag * tile)
	h.in.Begin()
	h.next = bandlimit.Reach/tile + holdLag
	h.skip = holdLag
	return h
}

func (h *holder) push(dst, x []float64) []float64 {
	h.held += len(x)
	for len(x) > 0 {
		if h.in.Room() == 0 {
			h.drop()
		}
		n := min(len(x), h.in.Room())
		h.in.Push(x[:n])
		x = x[n:]
		dst = h.advance(dst)
	}
	return dst
}

func (h *holder) flush(dst []float64) []float64 {
	h.in.End()
	for h.held > 0 {
		if h.in.Room() < tile {
			h.drop()
		}
		h.in.PushZeros(tile)
		dst = h.advance(dst)
	}
	return dst
}

// drop makes room by forgetting what no later pass needs.
func (h *holder) drop() {
	tiles := h.next - holdLag - bandlimit.Reach/tile
	h.in.Drop(tiles * tile)
	shift(h.changed, tiles, len(h.changed))
	shift(h.seen, tiles, len(h.seen))
	h.next -= tiles
}

// advance works on every tile that has Reach frames behind it.
func (h *holder) advance(dst []float64) []float64 {
	for (h.next+1)*tile+bandlimit.Reach <= h.in.Frames() {
		for p := range h.aims {
			if t := h.next - p*passLag; h.news(t) {
				h.seen[t] = h.pulses
				h.find(h, p, t)
			}
		}
		dst = h.emit(dst, h.next-holdLag)
		h.next++
	}
	return dst
}

// news reports whether a tile, or one beside it, has changed since a pass last
// looked at it. Where none has, there is nothing to find for the next pass.
func (h *holder) news(t int) bool {
	return h.seen[t] == 0 || max(h.changed[t-1], h.changed[t], h.changed[t+1]) > h.seen[t]
}

// book notes which tiles a pulse has changed.
func (h *holder) book(first, last int) {
	h.pulses++
	for t := first; t <= last; t++ {
		h.changed[t] = h.pulses
	}
}

// emit appends the tile to dst. What the passes have left over is clamped.
func (h *holder) emit(dst []float64, t int) []float64 {
	if h.skip > 0 {
		h.skip--
		return dst
	}
	n := min(tile, h.held)
	h.held -= n
	at := len(dst)
	dst = append(dst, h.in.Signal()[t*tile:t*tile+n]...)
	for i, x := range dst[at:] {
		if x > h.ceiling || x < -h.ceiling {
			dst[at+i] = min(max(x, -h.ceiling), h.ceiling)
			h.clamped++
		}
	}
	return dst
}
