package meter

import (
	"math"
	"math/bits"
	"slices"

	"ledgerline/stages/kernel"
)

// A Cut is one sample beyond the ceiling that was lowered.
type Cut struct {
	Frame   int64
	Channel int     // from 0
	By      float64 // magnitude before over magnitude after; infinite: it became 0
}

// deeper orders cuts: the deepest first, then the earliest, then by channel.
func (v Cut) deeper(w Cut) bool {
	switch {
	case v.By != w.By:
		return v.By > w.By
	case v.Frame != w.Frame:
		return v.Frame < w.Frame
	}
	return v.Channel < w.Channel
}

const (
	mostCuts = 10 // that are told
	cutsEach = 20 // a second: two that are told are more than 1/20 s apart

	// A cut is among the ten unless ten deeper ones are told. Later ones may take
	// the place of some of those, of two at most each; so a cut may be forgotten
	// when there are 20 deeper ones, each more than 50 ms from the others.
	enoughCuts = 2 * mostCuts

	// After so many new ones, or as many as there were, those are forgotten that may
	// be. What is left is within 50 ms of 20 cuts: no more than there are milliseconds,
	// 2040.
	moreCuts = 256
)

// cuts looks for the deepest cuts: out of the deepest of each millisecond it takes
// the deepest, then the deepest of those more than 50 ms from it, and so on.
// Milliseconds are counted from the start of each segment.
type cuts struct {
	rate  int
	start int64   // first frame of the segment
	best  [11]Cut // the deepest of each of its milliseconds; By 0: none
	any   bool    // there is one
	found []Cut   // those before it
	room  int     // how many are kept before some are forgotten
	floor float64 // what is no deeper is not among the ten
	least float64 // below the floor by more than rounding
}

func newCuts(rate int) cuts {
	c := cuts{rate: rate, room: moreCuts}
	c.ask(1)
	return c
}

// ask sets the floor.
func (c *cuts) ask(by float64) { c.floor, c.least = by, by*(1-0x1p-50) }

// search looks at samples of a segment, of which one may be deeper than the floor.
func (c *cuts) search(in, out []float64, ceiling float64, frame int64, channel int) {
	i := 0
	for ; i+32 <= len(in); i += 32 {
		for set := kernel.Above((*[32]float64)(in[i:]), ceiling); set != 0; set &= set - 1 {
			k := i + bits.TrailingZeros32(set)
			c.look(in[k], out[k], frame+int64(k), channel)
		}
	}
	for ; i < len(in); i++ {
		if math.Abs(in[i]) > ceiling {
			c.look(in[i], out[i], frame+int64(i), channel)
		}
	}
}

func (c *cuts) look(in, out float64, frame int64, channel int) {
	if !(math.Abs(in) > c.least*math.Abs(out)) {
		return
	}
	v := Cut{frame, channel, math.Abs(in) / math.Abs(out)}
	if !(v.By > c.floor) || math.Abs(in) > huge {
		return
	}
	if best := &c.best[(frame-c.start)*1000/int64(c.rate)]; v.deeper(*best) {
		*best, c.any = v, true
	}
}

// close ends a segment, before another that starts at a frame.
func (c *cuts) close(next int64) {
	c.start = next
	if !c.any {
		return
	}
	if len(c.found) >= c.room {
		c.forget()
		c.room = len(c.found) + max(moreCuts, len(c.found))
	}
	for _, v := range c.best {
		if v.By > 0 {
			c.found = append(c.found, v)
		}
	}
	c.best, c.any = [11]Cut{}, false
}

// forget drops cuts that will not be told, whatever follows.
func (c *cuts) forget() {
	told := spaced(c.found, enoughCuts, c.rate)
	if len(told) < enoughCuts {
		return
	}
	last := told[len(told)-1]
	c.found = slices.DeleteFunc(c.found, last.deeper)
	c.ask(last.By)
}

// spaced sorts cuts, the deepest first, and takes at most so many of them.
func spaced(found []Cut, most, rate int) []Cut {
	slices.SortFunc(found, func(v, w Cut) int {
		if v.deeper(w) {
			return -1
		}
		return 1
	})
	told := make([]Cut, 0, most)
	for _, v := range found {
		if len(told) == most {
			break
		}
		near := func(w Cut) bool { return max(v.Frame-w.Frame, w.Frame-v.Frame)*cutsEach <= int64(rate) }
		if !slices.ContainsFunc(told, near) {
			told = append(told, v)
		}
	}
	return told
}
