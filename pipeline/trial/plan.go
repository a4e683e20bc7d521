package trial

import (
	"errors"
	"fmt"
)

// Request is what a listener asks for.
type Request struct {
	Kind      Kind
	Trials    int   // as Protocol.Trials
	Sources   []int // to be compared, by their numbers
	Reference int   // grades: a number, not in Sources
}

// mostRounds is how many trials a session may have: more than anyone's ears last.
const mostRounds = 400

// A round is one trial: the number of the source under each letter.
type round []int

// letters are what is played under which name: of each kind in the order of a round.
var letters = map[Kind][]string{
	ABX:        {"A", "B", "X"},
	Preference: {"A", "B"},
	Grades:     {"A", "B", "C"}, // A is the open reference
}

// check says what is wrong with a request over so many sources.
func (q Request) check(sources int) error {
	seen := map[int]bool{}
	for _, s := range append([]int{}, q.Sources...) {
		if s < 0 || s >= sources || seen[s] {
			return fmt.Errorf("source %d is not there or named twice", s)
		}
		seen[s] = true
	}
	pairs := len(q.Sources)
	switch q.Kind {
	case ABX:
		if pairs != 2 {
			return fmt.Errorf("abx compares two sources, not %d", pairs)
		}
		pairs = 1
	case Preference:
		if pairs < 2 {
			return errors.New("a preference needs two sources or more")
		}
		pairs = pairs * (pairs - 1) / 2
	case Grades:
		if q.Reference < 0 || q.Reference >= sources || seen[q.Reference] || pairs < 1 {
			return errors.New("grades need a reference and one other source or more")
		}
	default:
		return fmt.Errorf("%q is no kind of trial; want abx, preference or grades", q.Kind)
	}
	if q.Trials < 1 || q.Trials > mostRounds || q.Trials*pairs > mostRounds {
		return fmt.Errorf("%d trials; want 1 to %d", q.Trials*max(pairs, 1), mostRounds)
	}
	return nil
}

// plan is the order of the trials. pick(n) is any of 0 to n-1, each as often as another.
func (q Request) plan(pick func(n int) int) []round {
	var all []round
	switch q.Kind {
	case ABX:
		a, b := turned(q.Sources[0], q.Sources[1], pick)
		for range q.Trials {
			x, _ := turned(a, b, pick)
			all = append(all, round{a, b, x})
		}
		return all // each by its own coin: none is known from the others
	case Preference:
		for range q.Trials {
			for i, s := range q.Sources {
				for _, o := range q.Sources[i+1:] {
					a, b := turned(s, o, pick)
					all = append(all, round{a, b})
				}
			}
		}
	case Grades:
		for range q.Trials {
			for _, s := range q.Sources {
				b, c := turned(s, q.Reference, pick)
				all = append(all, round{q.Reference, b, c})
			}
		}
	}
	for i := len(all) - 1; i > 0; i-- { // Fisher and Yates
		k := pick(i + 1)
		all[i], all[k] = all[k], all[i]
	}
	return all
}

func turned(a, b int, pick func(n int) int) (int, int) {
	if pick(2) == 1 {
		return b, a
	}
	return a, b
}
