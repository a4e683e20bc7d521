package meter

import (
	"math"
	"math/bits"

	"ledgerline/stages/kernel"
)

// overs are the samples beyond a ceiling.
type overs struct {
	count int64
	worst [10]Over
}

// kept is how many of worst there are.
func (o *overs) kept() int { return int(min(o.count, int64(len(o.worst)))) }

// add counts the samples of the cell x, which begins at a frame, that pass the ceiling.
func (o *overs) add(x []float64, ceiling float64, frame int64, channel int) {
	for ; len(x) > 0; x, frame = x[32:], frame+32 {
		part := (*[32]float64)(x)
		set := kernel.Above(part, ceiling)
		if last := &o.worst[len(o.worst)-1]; o.kept() == len(o.worst) && frame > last.Frame {
			// Only one that is further than the last can still be among them.
			further := kernel.Above(part, math.Abs(last.Value))
			o.count += int64(bits.OnesCount32(set &^ further))
			set &= further
		}
		for ; set != 0; set &= set - 1 {
			i := bits.TrailingZeros32(set)
			o.keep(Over{frame + int64(i), channel, part[i]})
			o.count++
		}
	}
}

// keep puts v in its place among the worst.
func (o *overs) keep(v Over) {
	n := o.kept()
	if n == len(o.worst) {
		if !v.worse(o.worst[n-1]) {
			return
		}
		n--
	}
	for ; n > 0 && v.worse(o.worst[n-1]); n-- {
		o.worst[n] = o.worst[n-1]
	}
	o.worst[n] = v
}

// worse orders overs: the furthest first, then the earliest, then by channel.
func (v Over) worse(w Over) bool {
	a, b := math.Abs(v.Value), math.Abs(w.Value)
	switch {
	case a != b:
		return a > b
	case v.Frame != w.Frame:
		return v.Frame < w.Frame
	}
	return v.Channel < w.Channel
}
