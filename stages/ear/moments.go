package ear

// An over is a window of one channel that has noise above the mask.
type over struct {
	frame   int64   // where the samples differ most
	over    float64 // ratio of noise to mask
	channel int
	band    int
}

// worse orders overs: the furthest first, then the earliest.
func (o over) worse(p over) bool {
	if o.over != p.over {
		return o.over > p.over
	}
	return o.frame < p.frame
}

// moments are the ten worst. One within a second after the last of them is its neighbour: of the two the worse stays.
type moments struct {
	now, sure list
	apart     int64 // a second, in frames
}

type list struct {
	worst [10]over
	kept  int
	last  over // the last moment, which the next may be a neighbour of
	any   bool
}

// meet takes in an over. They come in the order of their windows.
func (m *moments) meet(o over) {
	l := &m.now
	if l.any && o.frame-l.last.frame < m.apart {
		if !o.worse(l.last) {
			return
		}
		l.drop(l.last)
	}
	l.last, l.any = o, true
	l.keep(o)
}

func (l *list) drop(o over) {
	for i := range l.kept {
		if l.worst[i] == o {
			copy(l.worst[i:], l.worst[i+1:l.kept])
			l.kept--
			return
		}
	}
}

func (l *list) keep(o over) {
	n := l.kept
	if n == len(l.worst) {
		if !o.worse(l.worst[n-1]) {
			return
		}
		n--
	}
	l.kept = n + 1
	for ; n > 0 && o.worse(l.worst[n-1]); n-- {
		l.worst[n] = l.worst[n-1]
	}
	l.worst[n] = o
}
