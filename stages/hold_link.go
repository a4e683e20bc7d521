package stages

import "ledgerline/stages/bandlimit"

// A holdLink has the holders of linked channels go on together, tile by tile and pass by pass. What the link
// does to what is cut is in hold_rule_link.go.
type holdLink struct {
	each   []*holder
	runs   linkedRuns
	before []int // scratch: how many peaks of each channel a pass had before it sought more
	values []float64
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

// push takes the next frames of the channels, of which in has as many each, and appends those that are
// finished to dst.
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
