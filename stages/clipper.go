package stages

import "ledgerline/stages/bandlimit"

// A clipper clips one channel at a multiple of its rate and hands it on at its
// own, less the excess: out = in - decimate(excess). Where the signal never
// reaches the ceiling there is no excess, and in passes bit for bit.
type clipper struct {
	stream
	excess *excess
	effect tally
}

// clipLag is by how many tiles a clipper is late: a tile's excess is whole when the next tile's
// corners are found, and then reaches back by four tiles at most.
const clipLag = 1 + backReach

// clipStretch is the stretch of a clipper, on which nothing depends but its speed: with the values at the
// high rate and what is owed there a longer one would not stay in the cache.
const clipStretch = 3072

func newClipper(ceiling float64, factor, stretch int) *clipper {
	in := bandlimit.NewInterpolator(factor, bandlimit.Clean, stretch)
	c := &clipper{excess: newExcess(in, ceiling, factor, nil)}
	c.start(in, c, clipLag)
	return c
}

func (c *clipper) work(t int) {
	c.excess.seek(t)
	c.excess.decimate(t - 1)
}

func (c *clipper) finish(y []float64, t int) {
	c.excess.take(t, func(removed []float64) {
		for i := range y {
			y[i] -= removed[i]
		}
		c.effect.bookAll(c.in.Signal()[t*tile:][:len(y)], y, c.excess.ceiling)
	})
}

func (c *clipper) drop(tiles int) { c.excess.drop(tiles) }

func (c *clipper) took() Effect { return c.effect.total() }

func (c *clipper) tookOn(track int) Effect { return c.effect.on(track) }
