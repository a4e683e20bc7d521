package coder

import (
	"math"
	"testing"
)

// seek takes a search to its end.
func seek(own float64, excess func(ceiling float64) float64) *Search {
	s := NewSearch(own, -60)
	for at, more := s.Next(); more; at, more = s.Next() {
		s.Tried(excess(at))
	}
	return s
}

func TestSearch(t *testing.T) {
	for _, c := range []struct {
		what   string
		own    float64
		excess func(float64) float64
		found  float64 // the highest ceiling that is not too high
		within float64
		rounds int // at most
	}{
		{"kept already", -1, func(c float64) float64 { return c + 0.5 }, -1, 0, 1},
		{"kept with much room", -1, func(c float64) float64 { return c - 3 }, -1, 0, 1},
		{"silence", -1, func(float64) float64 { return -200 }, -1, 0, 1},
		{"follows the ceiling", -1, func(c float64) float64 { return c + 2.37 }, -2.37, 0.05, 3},
		{"follows it by half", -0.5, func(c float64) float64 { return 0.5*c + 1.1 }, -2.2, 0.1, 4},
		{"hardly follows", -0.5, func(c float64) float64 { return 0.2*c + 0.7 }, -3.5, 0.5, 6},
		{"a bend", -1, func(c float64) float64 { return math.Max(c+2, 0.3*c+0.9) }, -3, 0.2, 6},
		{"a step", -1, func(c float64) float64 {
			if c > -1.7 {
				return 1
			}
			return -1
		}, -1.7, 0.3, 6},
	} {
		s := seek(c.own, c.excess)
		found, ok := s.Found()
		if !ok || found > c.found+1e-9 || found < c.found-c.within-1e-9 || c.excess(found) > 0 ||
			s.Rounds() > min(c.rounds, MaxRounds) {
			t.Errorf("%s: found %v (%v) in %d rounds, want %v in %d", c.what, found, ok, s.Rounds(), c.found, c.rounds)
		}
		if hundred := found * 100; math.Abs(hundred-math.Round(hundred)) > 1e-9 {
			t.Errorf("%s: %v is not whole hundredths", c.what, found)
		}
	}
}

// A coder in which peaks jump by a decibel: what is found was tried and kept the limit, and nothing higher
// that was tried did.
func TestSearchInACoderThatJumps(t *testing.T) {
	for seed := range 200 {
		tried := map[float64]float64{}
		s := seek(-1, func(c float64) float64 {
			x := math.Sin(c*float64(1000+seed)) * 1.2
			tried[c] = 0.6*c + 1.5 + x
			return tried[c]
		})
		found, ok := s.Found()
		if len(tried) != s.Rounds() || s.Rounds() > MaxRounds {
			t.Errorf("%d: %d ceilings in %d rounds", seed, len(tried), s.Rounds())
		}
		if ok && !(tried[found] <= 0) {
			t.Errorf("%d: found %v, where %v is over", seed, found, tried[found])
		}
		for c, excess := range tried {
			if excess <= 0 && (!ok || c > found) {
				t.Errorf("%d: found %v (%v), and %v was not too high", seed, found, ok, c)
			}
		}
	}
}

func TestSearchThatCannotFind(t *testing.T) {
	s := seek(-1, func(float64) float64 { return 3 })
	if _, ok := s.Found(); ok || s.Rounds() > MaxRounds || s.Lowest() < -1-MaxLoweredDB {
		t.Errorf("found something in %d rounds down to %v", s.Rounds(), s.Lowest())
	}
	s = NewSearch(-59.5, -60)
	for at, more := s.Next(); more; at, more = s.Next() {
		if at < -60 {
			t.Fatalf("tries %v", at)
		}
		s.Tried(3)
	}
	if s.Lowest() != -60 {
		t.Errorf("the lowest is %v", s.Lowest())
	}
}
