package stages

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// A topCut is how much of what pulses cannot take down is taken away in a hop: near half the rate, and of all
// that lies above bandlimit.High. Either is 0 to 1; near is 1 in a hop whose peaks pass the ceiling.
type topCut struct{ near, high float64 }

const (
	// topFade is how many frames it takes to take something away, and to let it through again.
	topFade = 1024
	// What is above bandlimit.High keeps highShare of the ceiling where there is much else, and highAlone of it
	// where there is nothing else.
	highShare = 0.5
	highAlone = 0.985
)

// judge tells what is to be taken away in the hop in the middle of a stretch: nothing in one that is not to
// be held.
func (w *wholeBand) judge(stretch []float64) topCut {
	if !w.acts(stretch) {
		return topCut{}
	}
	if w.samples { // pulses at samples change what there is up there, and take next to nothing of it off
		w.near = append(w.near[:0], stretch...)
		stretch = w.near
		w.input(stretch, w.start+int64(w.at)+2*hop)
	}
	if w.mostHigh(stretch) <= highShare*w.ceiling {
		return topCut{near: 1}
	}
	w.upper = append(w.upper[:0], stretch...)
	w.read.Shaped(w.upper, w.upper, bandlimit.High())
	high, rest := 0.0, 0.0
	for i := hop/2 - topFade; i < hop/2+hop+topFade; i++ {
		high, rest = max(high, math.Abs(w.upper[i])), max(rest, math.Abs(stretch[i]-w.upper[i]))
	}
	keep := max(highShare*w.ceiling, float64(highAlone*w.ceiling)-rest)
	return topCut{near: 1, high: max(0, 1-keep/max(high, keep))}
}

// mostHigh bounds what lies above bandlimit.High around the hop in the middle of a stretch.
func (w *wholeBand) mostHigh(stretch []float64) float64 {
	const around = topFade + 4*kernel.Cell
	var peaks, bends [(hop + 2*around) / kernel.Cell]float64
	kernel.Scan(stretch[hop/2-around-2:hop/2+hop+around], peaks[:], bends[:])
	rest := float64(bandlimit.HighRest * slices.Max(peaks[:]))
	if most := float64(bandlimit.HighBend*slices.Max(bends[:])) + rest; most <= highShare*w.ceiling {
		return most
	}
	return w.read.MostHigh(stretch, hop/2-topFade, hop+2*topFade) + rest
}

// cleanHop takes away what is to be taken away in the hop in the middle of the stretch that begins at an
// index of raw. How much that is rises and falls in the hop that needs less. It reports whether the hop is to
// be held.
func (w *wholeBand) cleanHop(from int) bool {
	before, here, after := w.tops[0], w.tops[1], w.tops[2]
	if max(before.near, here.near, after.near) == 0 {
		return false
	}
	high := max(before.high, here.high, after.high) > 0
	w.keepUncleaned(from, high)
	mine := w.raw[from+hop/2:][:hop]
	w.takeNear(mine)
	if high {
		w.takeHigh(mine)
	}
	w.trim(mine, from+hop/2)
	return true
}

// keepUncleaned keeps what the hop is cleaned by, as it was before anything was taken away: in near what
// TakeNear needs, in upper the whole stretch if it is wanted.
func (w *wholeBand) keepUncleaned(from int, all bool) {
	at := from + hop/2
	w.near = append(w.near[:0], w.raw[at-bandlimit.NearBefore:at+hop+bandlimit.NearAfter]...)
	if w.touched[0] {
		copy(w.near, w.before[len(w.before)-bandlimit.NearBefore:]) // the hop before has been cleaned
	}
	if all {
		w.upper = append(w.upper[:0], w.raw[from:][:wholeFrames]...)
		if w.touched[0] {
			copy(w.upper, w.before[:])
		}
	}
	copy(w.before[:], w.raw[at+hop/2:])
}

// takeNear takes off a hop what is near half the rate: all of it in one that acts, otherwise in a fade beside
// each that does.
func (w *wholeBand) takeNear(mine []float64) {
	before, here, after := w.tops[0].near, w.tops[1].near, w.tops[2].near
	w.exact[1], w.unchanged[1] = false, [2]int{firstTile, heldTo}
	if w.touched[0] {
		w.unchanged[1][0] += 3 // pulses of the hop before reach so far
	}
	take := func(from, to int) {
		left := w.read.TakeNear(mine[from:to], w.near[from:], func(i int) float64 {
			return gainAt(from+i, before, here, after)
		})
		w.exact[1] = w.exact[1] || left > nearSpared*w.ceiling
	}
	if here > 0 {
		take(0, hop)
		w.unchanged[1][0] = heldTo
		return
	}
	if before > 0 {
		take(0, topFade)
		w.unchanged[1][0] = firstTile + (topFade+readReach)/tile
	}
	if after > 0 {
		take(hop-topFade, hop)
		w.unchanged[1][1] = firstTile + hopTiles - (topFade+readReach)/tile
	}
}

// takeHigh takes off a hop a part of what is above bandlimit.High and not near half the rate.
func (w *wholeBand) takeHigh(mine []float64) {
	before, here, after := w.tops[0].high, w.tops[1].high, w.tops[2].high
	w.near = append(w.near[:0], w.upper...)
	w.read.Shaped(w.near, w.near, bandlimit.NearHalf())
	w.read.Shaped(w.upper, w.upper, bandlimit.High())
	for i := range mine {
		mine[i] -= float64(gainAt(i, before, here, after) * (w.upper[hop/2+i] - w.near[hop/2+i]))
	}
}

// gainAt is the gain at a frame of a hop, between those of the hops around it.
func gainAt(i int, before, here, after float64) float64 {
	g := here
	if before > here && i < topFade {
		g += float64((before - here) * bandlimit.Rise(1-float64((float64(i)+0.5)/topFade)))
	}
	if after > here && i >= hop-topFade {
		g += float64((after - here) * bandlimit.Rise(1-float64((float64(hop-i)-0.5)/topFade)))
	}
	return g
}

// input sets x to what came in from a frame on.
func (w *wholeBand) input(x []float64, frame int64) {
	came := w.came[w.first:]
	for i := range x {
		x[i] = 0
		if n := frame + int64(i) - w.out; frame+int64(i) >= 0 && n < int64(len(came)) {
			x[i] = came[n]
		}
	}
}

// restore undoes, where samples are held, what the holder has done in the hop that has just been judged, if
// much is to be taken away near half the rate: what its pulses have made of that would be left.
func (w *wholeBand) restore(cut topCut) {
	if !w.samples || cut.high == 0 {
		return
	}
	from := w.at + 2*hop + hop/2 - topFade
	x := w.raw[from:][:hop+2*topFade]
	w.upper = w.upper[:len(x)]
	w.input(w.upper, w.start+int64(from))
	for i := range x {
		fade := bandlimit.Rise(min(float64(i)+0.5, float64(len(x)-i)-0.5) / topFade)
		x[i] += float64(fade * (w.upper[i] - x[i]))
	}
}
