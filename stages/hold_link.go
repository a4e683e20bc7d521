package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// A holdLink has the holders of linked channels go on together, tile by tile and pass by pass. What is taken off one channel at
// some moment is taken off the others there in proportion to what they are at that moment: a peak's pulse by pulses at the
// same place, a broad run as a linked clip does it.
//
// At each moment the channel of the largest magnitude leads. A peak counts as far as its channel leads there: the leader has
// a peak of its own close by, the cut of which lowers this one too.
type holdLink struct {
	each   []*holder
	runs   linkedRuns
	before []int // scratch: how many peaks of each channel a pass had before it sought more
	values []float64
}

// leadFades is by how much, as a part of it, another channel may be higher at the place of a peak before the peak does not count.
const leadFades = 0.25

// leads is how far a channel leads where the largest magnitude among all channels is so many times its own: 1 where none is higher.
// It may not jump.
func leads(most float64) float64 {
	d := max(most-1, 0) / leadFades
	by := max(1-float64(d*d), 0)
	return float64(by * by)
}

// newHoldLink links holders that have done nothing.
func newHoldLink(each []*holder) *holdLink {
	l := &holdLink{each: each, before: make([]int, len(each)), values: make([]float64, len(each))}
	for c, h := range each {
		h.link, h.channel = l, c
	}
	l.runs = newLinkedRuns(each)
	return l
}

// push takes the next frames of the channels, of which in has as many each, and appends those that are finished to dst.
func (l *holdLink) push(dst, in Block) {
	for _, h := range l.each {
		h.held += in.Frames()
	}
	for from := 0; from < in.Frames(); {
		l.makeRoom()
		to := min(in.Frames(), from+l.each[0].in.Room())
		for c, h := range l.each {
			h.in.Push(in[c][from:to])
		}
		from = to
		l.advance(dst)
	}
}

func (l *holdLink) flush(dst Block) {
	for _, h := range l.each {
		h.in.End()
	}
	for l.each[0].held > 0 {
		l.makeRoom()
		for _, h := range l.each {
			h.in.PushZeros(min(tile, h.in.Room()))
		}
		l.advance(dst)
	}
}

func (l *holdLink) makeRoom() {
	next := l.each[0].next
	for _, h := range l.each {
		h.makeRoom()
	}
	l.runs.drop(next - l.each[0].next)
}

func (l *holdLink) advance(dst Block) {
	for first := l.each[0]; (first.next+1)*tile+bandlimit.Reach <= first.in.Frames(); {
		l.work(first.next)
		for c, h := range l.each {
			dst[c] = h.emit(dst[c], h.next-h.lag)
			h.next++
		}
	}
}

// work is what a holder does at a tile, of all of them.
func (l *holdLink) work(t int) {
	l.runs.work(t)
	for _, h := range l.each {
		h.takeRuns(t)
	}
	t -= clipDelay + passDelay
	for i := range holdPasses {
		if l.wanted(i, t) {
			l.find(i, t)
		}
		t -= passLag
	}
}

// wanted reports whether there is anything to do for a pass at a tile.
func (l *holdLink) wanted(pass, t int) bool {
	for _, h := range l.each {
		if p := &h.passes[pass]; len(p.peaks) > 0 || h.news(p, t) {
			return true
		}
	}
	return false
}

// filledBeyond is what a holder's is, of the largest magnitude among the channels.
func (l *holdLink) filledBeyond(t int) bool {
	n := 0
	for i := t*tile - broadLength; i < (t+1)*tile; i++ {
		over := false
		for _, h := range l.each {
			over = over || math.Abs(h.in.Signal()[i]) > h.ceiling
		}
		if n++; !over {
			n = 0
		}
		if n >= broadLength-1 {
			return true
		}
	}
	return false
}
