package stages

import (
	"math"
	"slices"
)

// linkedRuns clips the broad runs of linked channels: the stretches in which the largest magnitude among them
// is beyond the ceiling, if they are long or high. What is taken off, and the corners of it, are those of a
// linked clip.
type linkedRuns struct {
	bent
	each  []*holder
	hot   []bool // tiles with a part of a broad run
	open  bool
	first int     // the first value of the open run that has not been booked
	from  float64 // where it entered, in values
	broad bool    // and therefore booked so far
}

func newLinkedRuns(each []*holder) linkedRuns {
	r := linkedRuns{each: each, hot: each[0].hot}
	r.bent = bent{knee: newKnee(each[0].ceiling, 0), factor: holdFactor, bends: bendsOf(holdFactor)}
	r.curves = slices.Grow(r.curves, len(each))[:len(each)]
	for _, h := range each {
		r.at, r.parts = append(r.at, h.in.At(holdFactor)), append(r.parts, h.broad)
	}
	return r
}

// drop says that the first tiles have been forgotten; the holders drop what is theirs.
func (r *linkedRuns) drop(tiles int) {
	r.first -= tiles * tile * r.factor
	r.from -= float64(tiles * tile * r.factor)
}

// work books what is broad up to the tile before one.
func (r *linkedRuns) work(t int) {
	hot := r.filledBeyond(t)
	for _, h := range r.each {
		hot = h.mayBeHigh(t) || hot
	}
	r.hot[t] = hot
	if r.hot[t-2] || r.hot[t-1] || r.hot[t] {
		r.seek(t - 1)
	} else {
		r.near, r.open = false, false
	}
}

// filledBeyond is a holder's, of the largest magnitude among the channels.
func (r *linkedRuns) filledBeyond(t int) bool {
	n := 0
	for i := t*tile - broadLength; i < (t+1)*tile; i++ {
		over := false
		for _, h := range r.each {
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

// seek finds the runs of a tile, from the last value of the tile before it to its own last one.
func (r *linkedRuns) seek(t int) {
	if !r.awake(t) {
		return
	}
	n := tile * r.factor
	was := r.over(t*n - 1)
	for m := t * n; m < (t+1)*n; m++ {
		is := r.over(m)
		switch {
		case is && !was:
			r.open, r.broad, r.first, r.from = true, false, m, r.edge(m-1, m)
		case was && !is && r.open:
			if r.broad || r.isBroad(m) {
				r.book(m)
				r.pair(m - 1)
			}
			r.open = false
		}
		was = is
	}
	if end := (t + 1) * n; r.open && (r.broad || end-r.first > (broadLength+1)*r.factor) {
		r.book(end)
	}
}

// over reports whether a channel is beyond the ceiling at a value.
func (r *linkedRuns) over(m int) bool {
	for _, at := range r.at {
		if math.Abs(at.Values()[m]) > r.ceiling {
			return true
		}
	}
	return false
}

// edge is where the run enters or ends, of two values next to each other the one outside of it and the one
// inside: where the channel does that passes the ceiling furthest out.
func (r *linkedRuns) edge(out, in int) float64 {
	m := min(out, in)
	x := 1.0
	if in < out {
		x = 0
	}
	for _, at := range r.at {
		v := at.Values()[in]
		if !(math.Abs(v) > r.ceiling) {
			continue
		}
		level := math.Copysign(r.ceiling, v)
		crossed, _, _, _ := at.Cross(m, level, (v > 0) == (in > out))
		if crossed += 0.5; in > out {
			x = min(x, crossed)
		} else {
			x = max(x, crossed)
		}
	}
	return float64(m) + x
}

// isBroad reports whether the open run, which ends before value end, is long or high.
func (r *linkedRuns) isBroad(end int) bool {
	if end-r.first > (broadLength-1)*r.factor && r.edge(end, end-1)-r.from > float64(broadLength*r.factor) {
		return true
	}
	for _, h := range r.each {
		per := r.factor / h.heights.Factor()
		if rises(h.heights, (r.first+per-1)/per, (end+per-1)/per, broadHeight*r.ceiling) {
			return true
		}
	}
	return false
}

// book books what is taken off in the open run up to value end-1, and its corners up to there.
func (r *linkedRuns) book(end int) {
	r.broad = true
	n := tile * r.factor
	for m := r.first; m < end; m++ {
		l, most := r.leadAt(m)
		if l.zone != below {
			r.takeOff(m, l, most)
			for _, p := range r.parts {
				p.active[m/n] = true
			}
		}
		r.pair(m - 1)
	}
	r.first = end
}

// pair finds the corners between the values m and m+1.
func (r *linkedRuns) pair(m int) {
	before, _ := r.leadAt(m)
	l, _ := r.leadAt(m + 1)
	if l != before || r.mayTurn(m, l) {
		r.between(m, before, l)
	}
}
