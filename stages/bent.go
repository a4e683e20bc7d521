package stages

import (
	"ledgerline/stages/bandlimit"
)

// A bent is an oversampled clip with a knee, or of channels that are linked, or both. Like a clipper
// it works on what is taken off alone. At each moment that is told by the channel of the largest magnitude,
// which leads: the others lose in proportion. One channel alone always leads.
type bent struct {
	knee
	factor int
	ins    []*bandlimit.Interpolator
	at     []*bandlimit.Rate // the same at the high rate
	parts  []*excess         // of each channel: what it owes, and the way back
	bends  *bandlimit.Bends
	near   bool // whether a value of the tile sought last may be in the knee
	curves []bandlimit.Curve

	effects []tally // by channel
	tames   []tamer

	// As a stream has them; the channels go on together.
	next, skip, held int
}

var bendsOf = perFactor(bandlimit.NewBends)

func newBent(channels int, k knee, factor, stretch int) *bent {
	b := &bent{
		knee: k, factor: factor, bends: bendsOf(factor), effects: make([]tally, channels),
		curves: make([]bandlimit.Curve, channels), tames: make([]tamer, channels),
	}
	for range channels {
		in := bandlimit.NewInterpolator(factor, bandlimit.Clean, stretch)
		b.ins, b.at = append(b.ins, in), append(b.at, in.At(factor))
		b.parts = append(b.parts, newExcess(in, k.ceiling, factor, nil))
		in.PushZeros((clipLag + early) * tile)
		in.Begin()
	}
	b.skip, b.next = clipLag+early, bandlimit.Reach/tile+clipLag
	return b
}

func (b *bent) Process(dst, in Block) Block {
	n := in.Frames()
	b.held += n
	for from := 0; from < n; {
		b.makeRoom()
		to := min(n, from+b.ins[0].Room())
		for c, i := range b.ins {
			i.Push(b.tames[c].tamed(in[c][from:to]))
		}
		from = to
		b.advance(dst)
	}
	return dst
}

func (b *bent) Flush(dst Block) Block {
	for _, in := range b.ins {
		in.End()
	}
	for b.held > 0 {
		b.makeRoom()
		for _, in := range b.ins {
			in.PushZeros(min(tile, in.Room()))
		}
		b.advance(dst)
	}
	return dst
}

func (b *bent) Effect() Effect { return totalOf(b.effects) }

func (b *bent) EffectOn(track int) Effect { return allOn(b.effects, track) }

// tell has the effects told apart by tracks, see Format.Ends.
func (b *bent) tell(ends []int64) *bent {
	tellApart(b.effects, ends)
	return b
}

// makeRoom forgets what no later tile needs, once there is no more room.
func (b *bent) makeRoom() {
	if b.ins[0].Room() > 0 {
		return
	}
	tiles := b.next - clipLag - bandlimit.Reach/tile
	for c, in := range b.ins {
		in.Drop(tiles * tile)
		b.parts[c].drop(tiles)
	}
	b.next -= tiles
}

func (b *bent) advance(dst Block) {
	for (b.next+1)*tile+bandlimit.Reach <= b.ins[0].Frames() {
		b.seek(b.next)
		for _, p := range b.parts {
			p.decimate(b.next - 1)
		}
		b.emit(dst, b.next-clipLag)
		b.next++
	}
}

func (b *bent) emit(dst Block, t int) {
	if b.skip > 0 {
		b.skip--
		return
	}
	n := min(tile, b.held)
	b.held -= n
	for c, in := range b.ins {
		x := in.Signal()[t*tile : t*tile+n]
		at := len(dst[c])
		dst[c] = append(dst[c], x...)
		y := dst[c][at:]
		b.parts[c].take(t, func(removed []float64) {
			for i := range y {
				y[i] -= removed[i]
			}
			b.effects[c].bookAll(x, y, b.ceiling)
		})
	}
}
