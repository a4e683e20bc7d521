package stages

// A linkedHold holds linked channels: the holders go on together, and so do the wholeBands after them. What
// is taken away near half the rate is taken away in all channels alike.
type linkedHold struct {
	workers
	link  *holdLink
	whole []*wholeBand
	tames []tamer
	raw   Block // scratch
	in    Block
}

func newLinkedHold(f Format, ceiling float64, samples bool) *linkedHold {
	l := &linkedHold{tames: make([]tamer, f.Channels)}
	var each []*holder
	for range f.Channels {
		h := newHolder(ceiling, f.AimLowerDB, samples, stretch)
		w := newWholeBand(h, new(wholeTools), samples)
		w.effect.ends = f.Ends
		each, l.whole, l.workers = append(each, h), append(l.whole, w), append(l.workers, w)
	}
	l.link = newHoldLink(each)
	l.raw, l.in = NewBlock(f.Channels, 0), NewBlock(f.Channels, 0)
	for c, w := range l.whole {
		w.linked, w.channel = l.whole, c
	}
	return l
}

func (l *linkedHold) Process(dst, in Block) Block {
	n := in.Frames()
	for from := 0; from < n; from += wholeBlock {
		to := min(n, from+wholeBlock)
		for c, w := range l.whole {
			l.in[c] = l.tames[c].tamed(in[c][from:to])
			w.take(l.in[c])
			w.makeRoom(2 * wholeBlock)
			l.raw[c] = w.raw
		}
		l.link.push(l.raw, l.in)
		l.advance(dst)
	}
	return dst
}

func (l *linkedHold) Flush(dst Block) Block {
	for c, w := range l.whole {
		w.makeRoom(holdLag*tile + wholeBlock)
		l.raw[c] = w.raw
	}
	l.link.flush(l.raw)
	l.advance(dst)
	for _, w := range l.whole {
		w.end = w.start + int64(len(w.raw))
	}
	for l.whole[0].out < l.whole[0].end {
		for _, w := range l.whole {
			w.lengthen()
		}
		l.step(dst)
	}
	return dst
}

// advance goes on from what the holders have handed on.
func (l *linkedHold) advance(dst Block) {
	for c, w := range l.whole {
		w.raw = l.raw[c]
	}
	for l.whole[0].hasStep() {
		l.step(dst)
	}
}

// step is a wholeBand's, of all of them.
func (l *linkedHold) step(dst Block) {
	cut := topCut{}
	for _, w := range l.whole {
		own := w.judgeNext()
		cut = topCut{max(cut.near, own.near), max(cut.high, own.high)}
	}
	for _, w := range l.whole {
		if w.tops[2] = cut; cut.near > 0 {
			w.ready()
		}
		w.restore(cut)
		w.touched[1] = w.cleanHop(w.at + hop)
	}
	if l.whole[0].touched[0] {
		l.whole[0].hold()
	}
	for c, w := range l.whole {
		dst[c] = w.emit(dst[c])
		w.goOn()
	}
}
