package stages

import "ledgerline/stages/bandlimit"

const tile = bandlimit.Tile

// A clipper clips one channel at factor times its rate and hands it on at its
// own. It works on the excess, by which the interpolated signal passes the
// ceiling: out = in - decimate(excess). Where the signal never reaches the
// ceiling there is no excess, and in passes bit for bit.
//
// The excess is smooth but for its corners, where the signal crosses the
// ceiling. They are found between the samples of the high rate and corrected by
// their residuals before the way back, so that what is taken away is band-limited.
type clipper struct {
	ceiling   float64
	factor    int
	in        *bandlimit.Interpolator
	residuals *bandlimit.Residuals
	back      bandlimit.Decimator

	// All of these are counted like the interpolator's frames and tiles.
	excess  [][]float64      // of each phase, corners corrected
	removed []float64        // at the channel's rate
	active  []bool           // tiles with any excess
	values  bandlimit.Values // scratch
	taken   []bool           // tiles with anything removed
	next    int              // the tile whose excess is sought next
	passed  bool             // whether a value of the tile before it may pass the ceiling

	skip   int // tiles before the track's first that are still to come out
	held   int // frames of the track that are still to come out
	effect Effect
}

// lag is how many tiles a clipper hands on behind the one it works at: a tile's
// excess is whole when the next tile's corners are found, and then reaches back
// by four tiles at most.
const lag = 5

func newClipper(ceiling float64, factor int) *clipper {
	c := &clipper{
		ceiling: ceiling, factor: factor,
		in:        bandlimit.NewInterpolator(factor),
		residuals: residualsOf(factor),
		back:      decimatorOf(factor),
		effect:    Effect{Cut: 1},
	}
	n := c.in.Frames() + c.in.Room()
	c.excess = make([][]float64, factor)
	for p := range c.excess {
		c.excess[p] = make([]float64, n)
	}
	c.removed = make([]float64, n)
	c.values = bandlimit.NewValues(factor)
	c.active, c.taken = make([]bool, n/tile), make([]bool, n/tile)
	c.next = bandlimit.Reach / tile
	c.skip = lag
	return c
}

func (c *clipper) push(dst, x []float64) []float64 {
	c.held += len(x)
	for len(x) > 0 {
		if c.in.Room() == 0 {
			c.drop()
		}
		n := min(len(x), c.in.Room())
		c.in.Push(x[:n])
		x = x[n:]
		dst = c.advance(dst)
	}
	return dst
}

func (c *clipper) flush(dst []float64) []float64 {
	for c.held > 0 {
		if c.in.Room() < tile {
			c.drop()
		}
		c.in.PushZeros(tile)
		dst = c.advance(dst)
	}
	return dst
}

func (c *clipper) took() Effect { return c.effect }

// drop makes room by forgetting what no later tile needs.
func (c *clipper) drop() {
	tiles := c.next - lag - bandlimit.Reach/tile
	n := c.in.Frames()
	for p := range c.excess {
		shift(c.excess[p], tiles*tile, n)
	}
	shift(c.removed, tiles*tile, n)
	shift(c.active, tiles, len(c.active))
	shift(c.taken, tiles, len(c.taken))
	c.in.Drop(tiles * tile)
	c.next -= tiles
}

// shift moves x[by:to] to the front of x and clears what it leaves behind.
func shift[T any](x []T, by, to int) {
	copy(x, x[by:to])
	clear(x[to-by : to])
}

// advance works on every tile that has Reach frames behind it.
func (c *clipper) advance(dst []float64) []float64 {
	for (c.next+1)*tile+bandlimit.Reach <= c.in.Frames() {
		c.seek(c.next)
		c.decimate(c.next - 1)
		dst = c.emit(dst, c.next-lag)
		c.next++
	}
	return dst
}

// decimate takes the excess of a tile back to the channel's rate.
func (c *clipper) decimate(t int) {
	if !c.active[t] {
		return
	}
	c.active[t] = false
	for i := t * tile; i < (t+1)*tile; i++ {
		for p := range c.excess {
			v := c.excess[p][i]
			if v == 0 {
				continue
			}
			c.excess[p][i] = 0
			c.back.Add(c.removed[i-bandlimit.Before:i+bandlimit.Behind+1], p, v)
		}
	}
	for k := t - lag + 1; k <= t+lag-1; k++ {
		c.taken[k] = true
	}
}

// emit appends the tile to dst, less what was removed.
func (c *clipper) emit(dst []float64, t int) []float64 {
	if c.skip > 0 {
		c.skip--
		return dst
	}
	n := min(tile, c.held)
	c.held -= n
	from := t * tile
	at := len(dst)
	dst = append(dst, c.in.Signal()[from:from+n]...)
	if !c.taken[t] {
		return dst
	}
	c.taken[t] = false
	for i, x := range dst[at:] {
		if y := x - c.removed[from+i]; y != x {
			dst[at+i] = y
			c.effect.book(x, y, c.ceiling)
		}
	}
	clear(c.removed[from : from+tile])
	return dst
}
