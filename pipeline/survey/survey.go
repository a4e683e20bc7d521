// Package survey renders tracks with one setting at many values, keeps no audio, and says what each
// value buys and costs, and which is the deepest that keeps the requirements; or solves for the value at
// which a figure is what is wanted.
package survey

import (
	"context"
	"fmt"
	"slices"

	"ledgerline/pipeline/fresh"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/track"
)

// Options say what is surveyed.
type Options struct {
	Set string // the setting: STAGE.KEY
	// its values, in the key's unit; for a target between which it is looked for, and no step. Nil: not given
	From, To, Step *float64
	Target         string   // FIGURE=VALUE to solve for; empty: the values are stepped through
	Level          bool     // the loudest mix comes to the target, the others keep their distance to it
	Tracks         []string // only these; none = all
	Variants       []string // these beside the release's own chain
	// KEY=VALUE, requirements of a measure at the chain's end beside those of the chain and of [survey]
	Limits   []string
	Jobs     int         // processors to keep busy; 0 = all there are
	Progress func(Event) // nil: nobody is told; called by several goroutines at once
}

// An Event is a step of a survey. Those about one render come in order.
type Event struct {
	Step   Step
	Render *release.Render // nil: all
	Count  int64
}

// Step is what an event tells of.
type Step int

// The steps.
const (
	Planned  Step = iota // Count renders, which is the beginning
	Begun                // a render of which Count frames are to be done
	Advanced             // Count of them are done
	Ended                // nothing more will come of it
)

// A Survey is what the values of one setting come to.
type Survey struct {
	Setting     string  `json:"setting"`
	Target      *Target `json:"target,omitempty"`      // missing: values were stepped through
	Interrupted bool    `json:"interrupted,omitempty"` // what is known by then is told, and no answer
	Tracks      []Track `json:"tracks"`                // by name, then variant: the release's own chain first

	Notes []string `json:"-"` // on what a render would do otherwise

	stage, key string
}

// Target is what is solved for.
type Target struct {
	Figure string  `json:"figure"` // as a row has it
	Wanted float64 `json:"wanted"`
	Level  bool    `json:"level,omitempty"` // for the loudest mix
	// So much less than wanted is what all tracks came to, so that they keep their distance where requirements
	// leave more out of reach for one of them; 0: nothing.
	LoweredLU float64 `json:"lowered_lu,omitempty"`
	figure    figure
}

// Track is one mix down one chain.
type Track struct {
	Name    string `json:"name"`
	Variant string `json:"variant,omitempty"` // empty: the release's own chain
	// the deepest value that keeps every requirement, for a target no deeper than that needs; null: none does,
	// or nothing is required
	Answer *float64 `json:"answer"`
	Solved *Solved  `json:"solved,omitempty"` // for a target
	// from the shallowest value on; missing: no value fails
	FirstFailure *Failure `json:"first_failure,omitempty"`
	Rows         []Row    `json:"rows"` // by value, rising
	values       int      // that there were to be
	decided      bool
}

// Row is one value.
type Row struct {
	Value float64 `json:"value"`
	*ledger.Whole
	LoudnessLUFS *float64 `json:"loudness_lufs"`  // at the chain's end; null: nothing passes the gates
	TruePeakDBTP *float64 `json:"true_peak_dbtp"` // at the chain's end; null: silence
	// Of each hard_clip and oversampled_clip its difference from the band-limited clip against what that masks;
	// of several the worst. Missing: there is none, or no difference.
	AliasingToMaskDB         *float64             `json:"aliasing_to_mask_db,omitempty"`
	AliasingDisturbedPercent *float64             `json:"aliasing_disturbed_percent,omitempty"`
	Requirements             []ledger.Requirement `json:"requirements,omitempty"`
	Passed                   bool                 `json:"passed"` // every requirement
	// it fails anyway: a render would be repeated with a lower aim of its hold, which moves figures a little
	Unrepeated bool `json:"unrepeated,omitempty"`
	peakTimeS  *float64
	sha        string   // of the mix
	left       *attempt // what is left of one that is unrepeated
}

// Failure is where requirements first fail.
type Failure struct {
	Value float64 `json:"value"`
	// where the first of the requirements is worst; missing: it is of no place
	TimeS        *float64             `json:"time_s,omitempty"`
	Requirements []ledger.Requirement `json:"requirements"` // that fail
}

// Run surveys a release. A wrong option is an *OptionError. What fails with one track is told in errs,
// and keeps none of the others from being surveyed. Where ctx ends the survey has what was known by then. No
// file is written.
func Run(ctx context.Context, r *release.Release, o Options) (s *Survey, errs []error, err error) {
	p, err := newPlan(r, o)
	if err != nil {
		return nil, nil, err
	}
	past, err := fresh.Open(r.Output.Folder, true)
	if err != nil {
		return nil, nil, err
	}
	w := &work{release: r, plan: p, seen: past.Seen, crew: track.NewCrew(o.Jobs), tell: o.Progress}
	if w.tell == nil {
		w.tell = func(Event) {}
	}
	s = &Survey{Setting: o.Set, Target: p.target, stage: p.stage, key: p.key}
	w.readAll(ctx)
	w.tell(Event{Step: Planned, Count: int64(len(p.renders))})
	var tracks []Track
	var fails []error
	if p.target == nil {
		tracks, fails = w.grid(ctx)
	} else {
		p.target.Level = o.Level
		tracks, fails = w.targets(ctx, s)
	}
	s.Interrupted = ctx.Err() != nil
	for k, render := range p.renders {
		if fails[k] != nil && ctx.Err() == nil {
			errs = append(errs, fmt.Errorf("%s: %w", render.Label(), fails[k]))
			continue
		}
		if fails[k] != nil && len(tracks[k].Rows) == 0 {
			continue
		}
		if len(render.Continuous) > 1 && render.Variant == "" {
			s.Notes = append(s.Notes,
				fmt.Sprintf("%s is continuous with other tracks and was surveyed by itself; rendered with them its "+
					"figures may differ", render.Label()))
		}
		s.Tracks = append(s.Tracks, tracks[k])
	}
	return s, errs, ctx.Err()
}

// Failed says whether there is a chain of a track without an answer that should have one, or short of its
// target.
func (s *Survey) Failed() bool {
	if s.Target != nil && s.Target.LoweredLU > 0 {
		return true
	}
	for _, t := range s.Tracks {
		if t.Answer == nil && t.FirstFailure != nil ||
			t.Solved != nil && (!t.Solved.Reached || t.FirstFailure != nil) {
			return true
		}
	}
	return false
}

// Known is how many values have a row.
func (s *Survey) Known() (n int) {
	for _, t := range s.Tracks {
		n += len(t.Rows)
	}
	return n
}

// readAll reads the mix of each render, which no value changes.
func (w *work) readAll(ctx context.Context) {
	w.mixes = map[*release.Render]*mix{}
	w.crew.Each(ctx, all(len(w.plan.renders)), func(ctx context.Context, i int) {
		r := w.plan.renders[i]
		m, err := track.Protect(r.Label(), func() (*mix, error) { return w.read(ctx, r), nil })
		if err != nil {
			m = &mix{err: err}
		}
		w.mu.Lock()
		defer w.mu.Unlock()
		w.mixes[r] = m
	})
}

// all are the numbers up to n.
func all(n int) []int {
	numbers := make([]int, n)
	for i := range numbers {
		numbers[i] = i
	}
	return numbers
}

// firstOf is the first error there is.
func firstOf(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// decide finds the answer and the first failure. Where the values fall, a lower one is deeper. What has no
// loudness, as silence or a moment, meets every requirement and answers nothing.
func (t *Track) decide(falls bool) {
	t.Answer, t.FirstFailure, t.decided = nil, nil, true
	for _, r := range deeper(t.Rows, falls) {
		if r.Passed && len(r.Requirements) > 0 && r.LoudnessLUFS != nil {
			t.Answer = &r.Value
		}
	}
	if at := t.firstFailing(falls); at >= 0 {
		t.FirstFailure = t.Rows[at].failure()
	}
}

// deeper are rows, the deepest last.
func deeper(rows []Row, falls bool) []Row {
	rows = slices.Clone(rows)
	if falls {
		slices.Reverse(rows)
	}
	return rows
}

// firstFailing is the shallowest row that fails; -1: none does.
func (t *Track) firstFailing(falls bool) int {
	found := -1
	for i, r := range t.Rows {
		if !r.Passed && (found < 0 || falls) {
			found = i
		}
	}
	return found
}

func (r Row) failure() *Failure {
	f := &Failure{Value: r.Value, Requirements: r.failed()}
	f.TimeS = r.timeOf(f.Requirements[0].Key)
	return f
}

// failed are the requirements that a row does not keep.
func (r Row) failed() []ledger.Requirement {
	return slices.DeleteFunc(slices.Clone(r.Requirements), func(q ledger.Requirement) bool { return q.Passed })
}

// timeOf is where what a requirement is about is worst; nil: it is of no place.
func (r Row) timeOf(key string) *float64 {
	switch key {
	case "sample_peak_max_dbfs":
		return r.peakTimeS
	case "removed_max_db", "clipped_max_percent":
		if w := r.RemovedWorst400ms; w != nil {
			return &w.TimeS
		}
	case "noise_to_mask_max_db", "disturbed_max_percent":
		if a := r.Audibility; a != nil && len(a.Moments) > 0 {
			return &a.Moments[0].TimeS
		}
	}
	return nil
}

// OptionError is a wrong option, and what would be right.
type OptionError struct{ Text, Hint string }

func (e *OptionError) Error() string { return e.Text }

func wrong(hint, format string, args ...any) error {
	return &OptionError{fmt.Sprintf(format, args...), hint}
}
