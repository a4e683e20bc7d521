package trial

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Session is a listener's trials in progress. It is not safe for use by several goroutines at once.
type Session struct {
	kind    Kind
	rounds  []round
	sources []Source // by the numbers in rounds
	result  Result
	now     func() time.Time
	next    int // the trial in progress, from 0
}

// Setup is what a session is made of.
type Setup struct {
	Tool, Title, Track string
	Sources            []Source
	RateHz, ContextHz  int
	Pick               func(n int) int // any of 0 to n-1, each as often as another
	Now                func() time.Time
}

// Begin fixes everything about a session: what is compared, how often, in which order.
func Begin(q Request, s Setup) (*Session, error) {
	if err := q.check(len(s.Sources)); err != nil {
		return nil, err
	}
	p := Protocol{Kind: q.Kind, Trials: q.Trials, Alpha: Alpha, RateHz: s.RateHz, ContextHz: s.ContextHz}
	switch q.Kind {
	case ABX:
		p.Needed, p.PowerAt, p.Power = Needed(q.Trials), SupposedRight, rounded(Power(q.Trials, SupposedRight))
	case Grades:
		p.Reference = s.Sources[q.Reference].Name
	}
	r := Result{
		Schema: Schema, Tool: s.Tool, Title: s.Title, Track: s.Track, Began: s.Now().UTC().Truncate(time.Second),
		Protocol: p, Answers: []Answer{}, Outcome: []Outcome{},
	}
	compared := append([]int{}, q.Sources...)
	if q.Kind == Grades {
		compared = append([]int{q.Reference}, compared...)
	}
	for _, k := range compared {
		r.Sources = append(r.Sources, s.Sources[k])
	}
	return &Session{kind: q.Kind, rounds: q.plan(s.Pick), sources: s.Sources, result: r, now: s.Now}, nil
}

// Rounds is how many trials there are in all.
func (s *Session) Rounds() int { return len(s.rounds) }

// At is the number of the trial in progress, from 1; Rounds + 1 after the last.
func (s *Session) At() int { return s.next + 1 }

// Letters are the names under which the sources of each trial are played.
func (s *Session) Letters() []string { return letters[s.kind] }

// Sources are what is compared, as it was when the session began.
func (s *Session) Sources() []Source { return s.result.Sources }

// Track is the name of the track that is heard.
func (s *Session) Track() string { return s.result.Track }

// Stop says why the session ends before its last answer, where it is not the listener who stops it. End comes
// next.
func (s *Session) Stop(why string) { s.result.Stopped = why }

// Kind is how it asks.
func (s *Session) Kind() Kind { return s.kind }

// Playing are the numbers of the sources of the trial in progress, in the order of Letters. It is for whoever
// plays them, and not to be told. Nil: all are answered.
func (s *Session) Playing() []int {
	if s.next >= len(s.rounds) {
		return nil
	}
	return s.rounds[s.next]
}

// ErrTrial is the error of an answer to a trial that is not in progress.
var ErrTrial = errors.New("that trial is not in progress")

// Reply is an answer as the listener gives it.
type Reply struct {
	Trial      int       // At, when it was asked
	Choice     string    // abx, preference: A or B
	Grades     []float64 // grades: of B and of C
	FromS, ToS float64   // the region that was set
	VolumeDB   *float64
}

// Answer takes the answer to the trial in progress.
func (s *Session) Answer(r Reply) error {
	if s.next >= len(s.rounds) || r.Trial != s.At() {
		return ErrTrial
	}
	if !(r.FromS >= 0 && r.ToS >= r.FromS && r.ToS < 1e7) ||
		r.VolumeDB != nil && !(*r.VolumeDB <= 0 && *r.VolumeDB > -200) {
		return errors.New("a region or a volume that cannot be")
	}
	at := s.rounds[s.next]
	a := Answer{
		Trial: r.Trial, Played: map[string]string{}, FromS: millis(r.FromS), ToS: millis(r.ToS),
		VolumeDB: r.VolumeDB, AfterS: millis(s.now().Sub(s.result.Began).Seconds()),
	}
	for i, l := range s.Letters() {
		a.Played[l] = s.sources[at[i]].Name
	}
	if s.kind == Grades {
		if len(r.Grades) != 2 || !graded(r.Grades[0]) || !graded(r.Grades[1]) {
			return fmt.Errorf("grades %v; want two from 1.0 to 5.0 in tenths", r.Grades)
		}
		a.Grades = map[string]float64{"B": r.Grades[0], "C": r.Grades[1]}
	} else {
		if r.Choice != "A" && r.Choice != "B" {
			return fmt.Errorf("%q is no answer; want A or B", r.Choice)
		}
		a.Choice = r.Choice
		if s.kind == ABX {
			right := a.Played[r.Choice] == a.Played["X"]
			a.Right = &right
		}
	}
	s.result.Answers = append(s.result.Answers, a)
	s.next++
	return nil
}

// graded says whether a grade is one of the scale: 1 to 5, in tenths.
func graded(g float64) bool { return g >= 1 && g <= 5 && math.Round(g*10)/10 == g }

// End is the record of the session, with what it says if all trials were answered.
func (s *Session) End() Result {
	r := s.result
	r.Ended = s.now().UTC().Truncate(time.Second)
	r.Complete = s.next == len(s.rounds)
	if r.Complete {
		r.judge()
	}
	return r
}

func millis(s float64) float64 { return math.Round(s*1e3) / 1e3 }

// rounded is a probability or share as the record has it.
func rounded(p float64) float64 { return math.Round(p*1e7) / 1e7 }
