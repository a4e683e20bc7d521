package coder

import "math"

const (
	MaxRounds    = 6    // times that a delivery goes through its coders at most, the first at the hold's own ceiling among them
	MaxLoweredDB = 12.0 // by which a hold's ceiling is lowered at most

	withinDB = 0.05 // how far below the limit what comes back may stay
	aimDB    = 0.02 // how far below the limit the search aims
	stepDB   = 0.01 // ceilings are multiples of it
)

// A Search seeks the highest ceiling of a hold at which what comes back of a delivery keeps its limits. Peaks in a coder do not follow
// the ceiling exactly, so it looks between a ceiling that was too high and one that was not, by the line between what the two
// came to. Its zero value is none: use NewSearch.
type Search struct {
	own, next float64
	rounds    int

	high, low     tried // the lowest ceiling that was too high, the highest one that was not
	before, last  tried // as they were tried
	over          bool
	least, lowest float64 // the lowest ceiling that may be tried and the lowest that was
}

// tried is a ceiling in dBFS and by how much, in dB, what came back passed its limits: by nothing if that is 0 or less.
type tried struct {
	made            bool
	ceiling, excess float64
}

// NewSearch begins at a hold's own ceiling, dBFS, and goes no lower than the least that the hold can have.
func NewSearch(ownDBFS, leastDBFS float64) *Search {
	return &Search{own: ownDBFS, next: ownDBFS, lowest: ownDBFS, least: max(ownDBFS-MaxLoweredDB, leastDBFS)}
}

// Next is the ceiling to be tried, dBFS, and whether there is one.
func (s *Search) Next() (float64, bool) { return s.next, !s.over }

// Found is the highest ceiling that was not too high, and whether there is one.
func (s *Search) Found() (float64, bool) { return s.low.ceiling, s.low.made }

// Rounds is how many ceilings have been tried.
func (s *Search) Rounds() int { return s.rounds }

// Lowest is the lowest ceiling that has been tried.
func (s *Search) Lowest() float64 { return s.lowest }

// Tried tells by how much, in dB, what came back at the next ceiling passed its limits, and chooses another.
func (s *Search) Tried(excessDB float64) {
	s.rounds++
	t := tried{true, s.next, excessDB}
	s.before, s.last = s.last, t
	s.lowest = min(s.lowest, t.ceiling)
	switch {
	case excessDB > 0:
		if !s.high.made || t.ceiling < s.high.ceiling {
			s.high = t
		}
	case !s.low.made || t.ceiling > s.low.ceiling:
		s.low = t
	}
	if s.low.made && s.high.made && s.low.ceiling >= s.high.ceiling {
		s.high = tried{} // higher ones may do as well: a coder is not even
	}
	s.over = s.ended() || !s.choose()
}

// ended says whether the search is good enough, or has been long enough.
func (s *Search) ended() bool {
	switch {
	case s.rounds >= MaxRounds, s.low.made && s.low.ceiling >= s.own:
		return true
	case s.low.made && s.low.excess >= -withinDB:
		return true
	}
	return s.low.made && s.high.made && s.high.ceiling-s.low.ceiling <= withinDB
}

// choose sets the next ceiling, and says whether there is another to be tried.
func (s *Search) choose() bool {
	next := 0.0
	switch {
	case s.low.made && s.high.made:
		next = meeting(s.low, s.high)
		room := (s.high.ceiling - s.low.ceiling) / 8
		next = min(max(next, s.low.ceiling+room), s.high.ceiling-room)
	case s.low.made:
		next = s.low.ceiling - s.low.excess - aimDB
	default:
		slope := 1.0
		if s.before.made {
			slope = (s.before.excess - s.last.excess) / (s.before.ceiling - s.last.ceiling)
			slope = min(max(slope, 0.4), 1.5)
		}
		next = s.last.ceiling - (s.last.excess+aimDB)/slope
	}
	next = max(math.Floor(next/stepDB+1e-6)*stepDB, s.least)
	next = math.Round(next/stepDB) * stepDB
	switch {
	case s.high.made && next >= s.high.ceiling:
		next = math.Round((s.high.ceiling-stepDB)/stepDB) * stepDB
	case s.low.made && next <= s.low.ceiling:
		next = math.Round((s.low.ceiling+stepDB)/stepDB) * stepDB
	}
	if next < s.least || next > s.own || s.last.made && next == s.last.ceiling || s.low.made && next == s.low.ceiling || s.high.made && next == s.high.ceiling {
		return false
	}
	s.next = next
	return true
}

// meeting is the ceiling at which the line between two that were tried comes to what the search aims at.
func meeting(a, b tried) float64 {
	if b.excess <= a.excess {
		return (a.ceiling + b.ceiling) / 2
	}
	return a.ceiling + (-aimDB-a.excess)*(b.ceiling-a.ceiling)/(b.excess-a.excess)
}
