// Package survey renders tracks with one setting at many values, keeps no audio, and says what each
// value buys and costs, and which is the deepest that keeps the requirements.
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
	Set            string   // the setting: STAGE.KEY
	From, To, Step float64  // its values, in the key's unit
	Tracks         []string // only these; none = all
	Limits         []string // KEY=VALUE, requirements of a measure at the chain's end beside those of the chain and of [survey]
	Jobs           int      // processors to keep busy; 0 = all there are
}

// A Survey is what the values of one setting come to.
type Survey struct {
	Setting string  `json:"setting"`
	Tracks  []Track `json:"tracks"` // by name

	Notes []string `json:"-"` // on what a render would do otherwise
}

// Track is one mix down the release's own chain.
type Track struct {
	Name         string   `json:"name"`
	Answer       *float64 `json:"answer"`                  // the deepest value that keeps every requirement; null: none does, or nothing is required
	FirstFailure *Failure `json:"first_failure,omitempty"` // from the shallowest value on; missing: no value fails
	Rows         []Row    `json:"rows"`                    // by value, rising
}

// Row is one value.
type Row struct {
	Value float64 `json:"value"`
	*ledger.Whole
	LoudnessLUFS *float64             `json:"loudness_lufs"`  // at the chain's end; null: nothing passes the gates
	TruePeakDBTP *float64             `json:"true_peak_dbtp"` // at the chain's end; null: silence
	Requirements []ledger.Requirement `json:"requirements,omitempty"`
	Passed       bool                 `json:"passed"` // every requirement
	peakTimeS    *float64
	sha          string // of the mix
}

// Failure is where requirements first fail.
type Failure struct {
	Value        float64              `json:"value"`
	TimeS        *float64             `json:"time_s,omitempty"` // where the first of the requirements is worst; missing: it is of no place
	Requirements []ledger.Requirement `json:"requirements"`     // that fail
}

// Run surveys a release. A wrong option is an *OptionError. What fails with one track is told in errs,
// and keeps none of the others from being surveyed. No file is written.
func Run(ctx context.Context, r *release.Release, o Options) (s *Survey, errs []error, err error) {
	p, err := newPlan(r, o)
	if err != nil {
		return nil, nil, err
	}
	past, err := fresh.Open(r.Output.Folder, true)
	if err != nil {
		return nil, nil, err
	}
	w := &work{release: r, plan: p, seen: past.Seen, crew: track.NewCrew(o.Jobs)}
	s = &Survey{Setting: o.Set}
	rows, fails := make([]*Row, p.count()), make([]error, p.count())
	w.crew.Each(ctx, p.numbers(), func(ctx context.Context, i int) {
		render, value := p.at(i)
		rows[i], fails[i] = track.Protect(render.Label(), func() (*Row, error) { return w.row(ctx, render, value) })
	})
	if ctx.Err() != nil {
		return nil, nil, ctx.Err()
	}
	for k, render := range p.renders {
		t := Track{Name: render.Track}
		first, last := k*len(p.values), (k+1)*len(p.values)
		if err := firstOf(fails[first:last]); err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", render.Label(), err))
			continue
		}
		for _, row := range rows[first:last] {
			t.Rows = append(t.Rows, *row)
		}
		if slices.ContainsFunc(t.Rows, func(r Row) bool { return r.sha != t.Rows[0].sha }) {
			errs = append(errs, fmt.Errorf("%s: the mix was changed while it was being surveyed", render.Label()))
			continue
		}
		if len(render.Continuous) > 1 {
			s.Notes = append(s.Notes, fmt.Sprintf("%s is continuous with other tracks and was surveyed by itself; rendered with them its figures may differ", render.Label()))
		}
		t.decide(p.falls)
		s.Tracks = append(s.Tracks, t)
	}
	return s, errs, nil
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

// decide finds the answer and the first failure. Where the values fall, a lower one is deeper.
func (t *Track) decide(falls bool) {
	deeper := slices.Clone(t.Rows)
	if falls {
		slices.Reverse(deeper)
	}
	for _, r := range deeper {
		if r.Passed && len(r.Requirements) > 0 {
			t.Answer = &r.Value
		}
	}
	if at := slices.IndexFunc(deeper, func(r Row) bool { return !r.Passed }); at >= 0 {
		t.FirstFailure = deeper[at].failure()
	}
}

func (r Row) failure() *Failure {
	f := &Failure{Value: r.Value}
	f.Requirements = slices.DeleteFunc(slices.Clone(r.Requirements), func(q ledger.Requirement) bool { return q.Passed })
	f.TimeS = r.timeOf(f.Requirements[0].Key)
	return f
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
