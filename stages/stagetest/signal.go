package stagetest

import (
	"math"
	"math/rand/v2"
	"sync"

	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// quiet is the magnitude, relative to the ceiling, that a signal keeps within
// outside its bursts: low enough for no interpolation to find an excess.
const quiet = 0.1

// programme is a signal of quiet tones and noise with bursts far beyond the
// ceiling, at other places in each channel, and with the numbers that tell an
// exact copy from a nearly exact one strewn in between.
func programme(channels int, o Options) stages.Block {
	made.Lock()
	defer made.Unlock()
	if of := (material{channels, o.frames(), o.level()}); made.of != of {
		made.of, made.block = of, compose(channels, o)
	}
	return clone(made.block)
}

// brief is a programme as long as most checks of a quick run need it: up to the midst of the long burst, so
// that a stage is flushed while it is at work.
func brief(channels int, o Options) stages.Block {
	b := programme(channels, o)
	return b.Slice(0, long.Or(o.frames()/2+400, b.Frames()))
}

// made is the last programme, which most checks of a suite have in common.
var made struct {
	sync.Mutex
	of    material
	block stages.Block
}

// A material is what a programme depends on.
type material struct {
	channels, frames int
	level            float64
}

func compose(channels int, o Options) stages.Block {
	b := stages.NewBlock(channels, o.frames())
	for c := range b {
		random := rand.New(rand.NewPCG(1, uint64(c)))
		for i := range b[c] {
			x := float64(0.6*math.Sin(0.0613*float64(i+100*c))) + float64(0.4*(float64(2*float64(random.Float64()))-1))
			b[c][i] = quiet * o.level() * x
		}
		for i, x := range []float64{math.Copysign(0, -1), 5e-324, -1e-310, 1e-30, 0} {
			b[c][o.frames()/8+7*c+i] = x
		}
		for _, burst := range o.bursts(c) {
			burst.play(b[c], o.level())
		}
	}
	return b
}

// level is the ceiling, or full scale for a stage that has none.
func (o Options) level() float64 {
	if o.Ceiling == 0 {
		return 1
	}
	return o.Ceiling
}

// A burst is a stretch of samples beyond the ceiling, frames [from, to).
type burst struct {
	from, to int
	peak     float64 // relative to the ceiling
	turn     float64 // of its tone, radians a frame
}

// bursts are those of one channel: a lone sample, a long low tone, a short high
// one, and in every other channel the first frame and the last few.
func (o Options) bursts(channel int) []burst {
	n, shift := o.frames(), 53*channel
	b := []burst{
		{n/4 + shift, n/4 + shift + 1, 2, math.Pi},
		{n/2 + shift, n/2 + shift + 700, 4, 0.031},
		{3*n/4 + shift, 3*n/4 + shift + 40, 1.5, 2.1},
	}
	if channel%2 == 0 {
		b = append(b, burst{0, 1, 3, math.Pi}, burst{n - 6, n, 4, 1.3})
	}
	return b
}

func (b burst) play(x []float64, level float64) {
	for i := b.from; i < b.to; i++ {
		x[i] = b.peak * level * math.Sin(b.turn*(float64(i-b.from)+0.5))
	}
}

// untouched calls f for every frame that is out of reach of channel c's bursts, of those
// of all channels if they are linked, or for every frame if the stage has no ceiling.
func (o Options) untouched(channel, channels, frames int, f func(frame int)) {
	bursts := o.bursts(channel)
	for c := range channels {
		if o.Linked && c != channel {
			bursts = append(bursts, o.bursts(c)...)
		}
	}
	if o.Ceiling == 0 {
		bursts = nil
	}
	for i := range frames {
		if !near(bursts, i, o.Reach) {
			f(i)
		}
	}
}

func near(bursts []burst, frame, reach int) bool {
	for _, b := range bursts {
		if frame >= b.from-reach && frame < b.to+reach {
			return true
		}
	}
	return false
}
