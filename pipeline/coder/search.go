package coder

import (
	"math"
	"slices"
)

const (
	// times that a delivery goes through its coders at most, the first at the hold's own ceiling among them
	MaxRounds    = 6
	MaxLoweredDB = 12.0 // by which a hold's ceiling is lowered at most

	withinDB = 0.05 // how far below the limit what comes back may stay
	aimDB    = 0.02 // how far below the limit the search aims
	stepDB   = 0.01 // ceilings are multiples of it

	stepsOfDB  = 1 / stepDB
	leastSlope = 0.5   // dB that what comes back is taken to fall at least for each that a ceiling is lowered by
	nearest    = 0.125 // part of what lies between two ceilings that the next keeps from both
)

// A Search seeks a high ceiling of a hold at which what comes back of a delivery keeps its limits. Peaks in a
// coder do not follow the ceiling: where one is lowered a little, they may rise by a decibel. So the search
// looks between a ceiling that was too high and one that was not, by the line between what the two came to,
// and what it finds is the highest that it has tried and that was not too high. Its zero value is none: use
// NewSearch.
type Search struct {
	own, least float64 // the hold's own ceiling, and the lowest that may be tried
	next       float64
	over       bool
	tries      []tried
}

// tried is a ceiling in dBFS and by how much, in dB, what came back passed its limits: by nothing if that is
// 0 or less.
type tried struct{ ceiling, excess float64 }

// NewSearch begins at a hold's own ceiling, dBFS, and goes no lower than the least that the hold can have.
func NewSearch(ownDBFS, leastDBFS float64) *Search {
	return &Search{own: ownDBFS, next: ownDBFS, least: max(ownDBFS-MaxLoweredDB, leastDBFS)}
}

// Next is the ceiling to be tried, dBFS, and whether there is one.
func (s *Search) Next() (float64, bool) { return s.next, !s.over }

// Rounds is how many ceilings have been tried.
func (s *Search) Rounds() int { return len(s.tries) }

// Found is the highest ceiling that was tried and not too high, and whether there is one.
func (s *Search) Found() (float64, bool) {
	low := s.low()
	if low == nil {
		return 0, false
	}
	return low.ceiling, true
}

// Lowest is the lowest ceiling that has been tried.
func (s *Search) Lowest() float64 {
	lowest := s.own
	for _, t := range s.tries {
		lowest = min(lowest, t.ceiling)
	}
	return lowest
}

// low is the highest ceiling that was not too high; nil: none was.
func (s *Search) low() (low *tried) {
	for i := range s.tries {
		if t := &s.tries[i]; t.excess <= 0 && (low == nil || t.ceiling > low.ceiling) {
			low = t
		}
	}
	return low
}

// high is the lowest ceiling above another that was too high; nil: none was.
func (s *Search) high(above float64) (high *tried) {
	for i := range s.tries {
		if t := &s.tries[i]; t.excess > 0 && t.ceiling > above && (high == nil || t.ceiling < high.ceiling) {
			high = t
		}
	}
	return high
}

// Tried tells by how much, in dB, what came back at the next ceiling passed its limits, and chooses another.
func (s *Search) Tried(excessDB float64) {
	s.tries = append(s.tries, tried{s.next, excessDB})
	low := s.low()
	var next float64
	switch {
	case len(s.tries) >= MaxRounds:
		s.over = true
		return
	case low == nil:
		next = s.downwards()
	default:
		high := s.high(low.ceiling)
		if high == nil || low.excess >= -withinDB || high.ceiling-low.ceiling <= withinDB {
			s.over = true // with none above it, it is the hold's own
			return
		}
		next = between(*low, *high)
	}
	if next = math.Round(math.Floor(next/stepDB+0.001)) / stepsOfDB; next < s.least {
		next = s.least
	}
	s.over = slices.ContainsFunc(s.tries, func(t tried) bool { return t.ceiling == next })
	s.next = next
}

// downwards is lower than all ceilings that were tried, by how far what came back fell so far.
func (s *Search) downwards() float64 {
	first, last := s.tries[0], s.tries[len(s.tries)-1]
	slope := 1.0
	if len(s.tries) > 1 {
		least := leastSlope / float64(len(s.tries)-1) // less with every ceiling that did not do
		slope = min(max((first.excess-last.excess)/(first.ceiling-last.ceiling), least), 1)
	}
	return last.ceiling - (last.excess+aimDB)/slope
}

// between is where the line between two ceilings comes to what the search aims at, not too near either of
// them.
func between(low, high tried) float64 {
	room := high.ceiling - low.ceiling
	part := (-aimDB - low.excess) / (high.excess - low.excess)
	return low.ceiling + float64(room*min(max(part, nearest), 1-nearest))
}
