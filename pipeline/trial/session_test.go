package trial

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"ledgerline/stages/stagetest/long"
)

var sources = []Source{
	{Name: "mix", Is: Mix}, {Name: "own chain", Is: Master}, {Name: "plain", Is: Master, Variant: "plain"},
}

func setup(seed uint64) Setup {
	at := time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)
	return Setup{Tool: "test", Track: "01 quay", Sources: sources, RateHz: 44100,
		Pick: rand.New(rand.NewPCG(seed, 7)).IntN, Now: func() time.Time { return at }}
}

func begin(t *testing.T, q Request, seed uint64) *Session {
	t.Helper()
	s, err := Begin(q, setup(seed))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Listeners who guess are right as often as coins fall: the share of sessions with p <= 0.05 is the exact
// tail, within five standard deviations of that share. Whoever always says A guesses too.
func TestGuessersFindNothing(t *testing.T) {
	const n = 16
	sessions := long.Or(1500, 10000)
	for name, guess := range map[string]func(r *rand.Rand) string{
		"coin":     func(r *rand.Rand) string { return []string{"A", "B"}[r.IntN(2)] },
		"always A": func(*rand.Rand) string { return "A" },
	} {
		r := rand.New(rand.NewPCG(3, 4))
		found, right := 0, make([]int, n+1)
		su := setup(5)
		for range sessions {
			s, err := Begin(Request{Kind: ABX, Trials: n, Sources: []int{0, 2}}, su)
			if err != nil {
				t.Fatal(err)
			}
			for s.Playing() != nil {
				if err := s.Answer(Reply{Trial: s.At(), Choice: guess(r)}); err != nil {
					t.Fatal(err)
				}
			}
			o := s.End().Outcome[0]
			right[o.Count]++
			if o.Found {
				found++
			}
		}
		check := func(what string, got int, p float64) {
			if off := math.Abs(float64(got)/float64(sessions)-p) / math.Sqrt(p*(1-p)/float64(sessions)); off > 5 {
				t.Errorf("%s: %s in %d of %d, expected %.4f: %.1f deviations off", name, what, got, sessions, p, off)
			}
		}
		check("found", found, Tail(12, n))
		for k := 5; k <= 11; k++ {
			check("right", right[k], Tail(k, n)-Tail(k+1, n))
		}
	}
}

// A listener who hears it is right in every trial, by whichever letters it is played.
func TestWhoHearsItIsRight(t *testing.T) {
	for seed := range uint64(20) {
		s := begin(t, Request{Kind: ABX, Trials: 10, Sources: []int{2, 1}}, seed)
		for s.Playing() != nil {
			p := s.Playing()
			choice := "A"
			if p[2] == p[1] {
				choice = "B"
			}
			if err := s.Answer(Reply{Trial: s.At(), Choice: choice}); err != nil {
				t.Fatal(err)
			}
		}
		r := s.End()
		if o := r.Outcome[0]; o.Count != 10 || !o.Found || o.P != rounded(math.Pow(2, -10)) {
			t.Errorf("%+v", o)
		}
		for _, a := range r.Answers {
			if a.Played["A"] == a.Played["B"] || a.Played["X"] != a.Played[a.Choice] || !*a.Right {
				t.Errorf("%+v", a)
			}
		}
	}
}

// An answer counts for the trial in progress, once.
func TestAnAnswerIsBoundToItsTrial(t *testing.T) {
	s := begin(t, Request{Kind: ABX, Trials: 3, Sources: []int{0, 1}}, 1)
	for _, trial := range []int{0, 2, 3, -1} {
		if err := s.Answer(Reply{Trial: trial, Choice: "A"}); !errors.Is(err, ErrTrial) {
			t.Errorf("trial %d: %v", trial, err)
		}
	}
	for _, r := range []Reply{
		{Trial: 1}, {Trial: 1, Choice: "X"}, {Trial: 1, Choice: "A", FromS: -1},
		{Trial: 1, Choice: "A", FromS: 2, ToS: 1}, {Trial: 1, Choice: "A", ToS: math.NaN()},
	} {
		if err := s.Answer(r); err == nil {
			t.Errorf("%+v is taken", r)
		}
	}
	for i := 1; i <= 3; i++ {
		if err := s.Answer(Reply{Trial: i, Choice: "A"}); err != nil {
			t.Fatal(err)
		}
		if err := s.Answer(Reply{Trial: i, Choice: "B"}); !errors.Is(err, ErrTrial) {
			t.Errorf("answered twice: %v", err)
		}
	}
	if err := s.Answer(Reply{Trial: 4, Choice: "A"}); !errors.Is(err, ErrTrial) {
		t.Errorf("after the last: %v", err)
	}
	if r := s.End(); !r.Complete || len(r.Answers) != 3 {
		t.Errorf("%+v", r)
	}
}

func TestAStoppedSessionSaysNothing(t *testing.T) {
	s := begin(t, Request{Kind: ABX, Trials: 5, Sources: []int{0, 1}}, 1)
	for i := 1; i <= 4; i++ {
		if err := s.Answer(Reply{Trial: i, Choice: "A"}); err != nil {
			t.Fatal(err)
		}
	}
	if r := s.End(); r.Complete || len(r.Outcome) != 0 || len(r.Answers) != 4 {
		t.Errorf("%+v", r)
	}
}

// Every pair comes as often as asked, and each side of it about as often.
func TestPreferenceAsksForEveryPair(t *testing.T) {
	s := begin(t, Request{Kind: Preference, Trials: 40, Sources: []int{0, 1, 2}}, 1)
	if s.Rounds() != 120 {
		t.Fatalf("%d trials", s.Rounds())
	}
	first := map[[2]int]int{}
	for s.Playing() != nil {
		p := s.Playing()
		first[[2]int{p[0], p[1]}]++
		choice := "A" // plain is always preferred, else what comes first
		if sources[p[1]].Name == "plain" {
			choice = "B"
		}
		if err := s.Answer(Reply{Trial: s.At(), Choice: choice}); err != nil {
			t.Fatal(err)
		}
	}
	for _, pair := range [][2]int{{0, 1}, {0, 2}, {1, 2}} {
		a, b := first[pair], first[[2]int{pair[1], pair[0]}]
		if a+b != 40 || a < 8 || b < 8 { // fewer than 8 of 40 have a probability of 2e-5
			t.Errorf("pair %v: %d and %d", pair, a, b)
		}
	}
	for _, o := range s.End().Outcome {
		if plain := o.Second == "plain"; plain != (o.Found && o.Count == 0) {
			t.Errorf("%+v", o)
		}
	}
}

// Holm: of three pairs the least p counts three times, the next twice.
func TestSeveralPairsAreAllowedFor(t *testing.T) {
	r := Result{
		Protocol: Protocol{Alpha: Alpha}, Outcome: []Outcome{{P: 0.03, Of: 1}, {P: 0.01, Of: 1}, {P: 0.04, Of: 1}},
	}
	r.finish()
	var got []float64
	for _, o := range r.Outcome {
		got = append(got, o.PAll)
	}
	if !slices.Equal(got, []float64{0.06, 0.03, 0.06}) || r.Outcome[0].Found || !r.Outcome[1].Found {
		t.Errorf("%v", got)
	}
}

// The difference grade is the object's minus the hidden reference's, wherever they were.
func TestGrades(t *testing.T) {
	s := begin(t, Request{Kind: Grades, Trials: 6, Sources: []int{1, 2}, Reference: 0}, 3)
	if s.Rounds() != 12 {
		t.Fatalf("%d trials", s.Rounds())
	}
	sides := map[int]int{}
	for s.Playing() != nil {
		p := s.Playing()
		if p[0] != 0 || (p[1] == 0) == (p[2] == 0) {
			t.Fatalf("a trial of %v", p)
		}
		grades := []float64{5, 5}
		for i, k := range p[1:] {
			switch k {
			case 1:
				grades[i] = 4.2
			case 2:
				grades[i] = 5 // not heard
			}
		}
		sides[slices.Index(p[1:], 0)]++
		if err := s.Answer(Reply{Trial: s.At(), Grades: grades}); err != nil {
			t.Fatal(err)
		}
	}
	if sides[0] == 0 || sides[1] == 0 {
		t.Errorf("the reference is always on one side: %v", sides)
	}
	r := s.End()
	if o := r.Outcome[0]; o.First != "own chain" || *o.Grade != -0.8 || o.Count != 6 || o.Of != 6 ||
		o.P != rounded(1.0/64) || !o.Found {
		t.Errorf("%+v", o)
	}
	if o := r.Outcome[1]; o.First != "plain" || *o.Grade != 0 || o.Of != 0 || o.P != 1 || o.Found ||
		o.Share95 != nil {
		t.Errorf("%+v", o)
	}
	for _, g := range [][]float64{nil, {5}, {5, 5.1}, {0.9, 5}, {4.25, 5}, {math.NaN(), 5}, {5, 5, 5}} {
		s := begin(t, Request{Kind: Grades, Trials: 1, Sources: []int{1}}, 3)
		if err := s.Answer(Reply{Trial: 1, Grades: g}); err == nil {
			t.Errorf("grades %v are taken", g)
		}
	}
}

func TestRequestsThatCannotBe(t *testing.T) {
	for _, q := range []Request{
		{Kind: ABX, Trials: 16, Sources: []int{0}},
		{Kind: ABX, Trials: 16, Sources: []int{0, 0}},
		{Kind: ABX, Trials: 16, Sources: []int{0, 3}},
		{Kind: ABX, Trials: 16, Sources: []int{0, -1}},
		{Kind: ABX, Trials: 0, Sources: []int{0, 1}},
		{Kind: ABX, Trials: 401, Sources: []int{0, 1}},
		{Kind: ABX, Trials: math.MaxInt, Sources: []int{0, 1}},
		{Kind: Preference, Trials: 200, Sources: []int{0, 1, 2}},
		{Kind: Preference, Trials: 1, Sources: []int{1}},
		{Kind: Grades, Trials: 1, Sources: []int{0, 1}, Reference: 0},
		{Kind: Grades, Trials: 1, Reference: 0},
		{Kind: Grades, Trials: 1, Sources: []int{1}, Reference: 9},
		{Kind: "loud", Trials: 1, Sources: []int{0, 1}},
	} {
		if _, err := Begin(q, setup(1)); err == nil {
			t.Errorf("%+v is begun", q)
		}
	}
}
