package ledger

import (
	"cmp"
	"slices"
)

// Brief is what the table of rows, the totals and the last line need of a ledger.
type Brief struct {
	Title       string
	CeilingDBFS float64 // as the ledger's
	Rows        []Row   // in the order of the ledger's entries
	Totals      Totals  // over the rows
}

// Row is what is told of an entry in a row. A figure that its entry does not have is nil.
type Row struct {
	Name      string  `json:"-"` // as in the entry, and so are the next four
	Variant   string  `json:"-"`
	Delivery  string  `json:"-"`
	DurationS float64 `json:"-"`
	Limited   int64   `json:"-"`

	Drive       *float64 `json:"drive,omitempty"` // the gain of the stage of that name, dB
	Loudness    *float64 `json:"loudness,omitempty"`
	TruePeak    *float64 `json:"true_peak,omitempty"`
	Net         *float64 `json:"net,omitempty"`
	TrueNet     *float64 `json:"true_net,omitempty"`
	Removed     *float64 `json:"removed,omitempty"`
	Worst400ms  *float64 `json:"worst_400ms,omitempty"`
	NoiseToMask *float64 `json:"noise_to_mask,omitempty"`
	Disturbed   *float64 `json:"disturbed,omitempty"`
	// of the short meters that the chain asks for, by their names
	Short map[string]*float64 `json:"short,omitempty"`

	Idle    bool  `json:"idle,omitempty"`    // as of outcome
	Clamped int64 `json:"clamped,omitempty"` // as of outcome

	Ceiling      *float64      `json:"ceiling,omitempty"` // of the last stage that has one, dBFS; nil: none has
	Overs        int64         `json:"overs,omitempty"`   // left there
	NonFinite    int64         `json:"nonfinite,omitempty"`
	Requirements int           `json:"requirements,omitempty"` // all of them
	Failed       []Requirement `json:"failed,omitempty"`
	Clipped      []Clipped     `json:"clipped,omitempty"`
}

// Clipped is the share of the samples that came into a stage beyond its ceiling, in percent, of a stage
// whose kind has a share from which on it gains little.
type Clipped struct {
	Stage   string  `json:"stage"`
	Kind    string  `json:"kind"`
	Percent float64 `json:"percent"`
}

// Brief is the ledger in brief. Its totals are those that Sum fills in.
func (l *Ledger) Brief() *Brief {
	rows := make([]Row, len(l.Tracks))
	for i := range l.Tracks {
		rows[i] = l.Tracks[i].Row()
	}
	return NewBrief(l.Title, l.CeilingDBFS, rows)
}

// NewBrief puts rows in order, as Sum does with entries, and sums them.
func NewBrief(title string, ceilingDBFS float64, rows []Row) *Brief {
	slices.SortStableFunc(rows, func(a, b Row) int {
		return cmp.Or(
			cmp.Compare(a.Name, b.Name), cmp.Compare(a.Variant, b.Variant), cmp.Compare(a.Delivery, b.Delivery))
	})
	b := &Brief{Title: title, CeilingDBFS: ceilingDBFS, Rows: rows}
	for i := range rows {
		b.Totals.add(&rows[i], i == 0 || rows[i].Name != rows[i-1].Name, ceilingDBFS)
	}
	return b
}

// Row is the entry in a row.
func (t *Track) Row() Row {
	_, end := t.ends()
	o := t.outcome()
	r := Row{
		Name: t.Name, Variant: t.Variant, Delivery: t.Delivery,
		DurationS: t.Source.DurationS, Limited: t.Output.LimitedSamples,
		Drive: drive(t), Loudness: end.LoudnessLUFS, TruePeak: end.TruePeakDBTP, Net: o.net, TrueNet: o.trueNet,
		Removed: wholeRemoved(t), Worst400ms: worst400ms(t),
		NoiseToMask: t.heard().noiseToMask(), Disturbed: t.heard().disturbed(),
		Idle: o.idle, Clamped: o.clamped, Requirements: len(t.Required()), Failed: t.failed(),
	}
	for _, s := range shortReadings {
		if t.asksFor(s) {
			if r.Short == nil {
				r.Short = map[string]*float64{}
			}
			r.Short[s.meter] = t.short(s)
		}
	}
	if k := t.lastCeiling(); k > 0 {
		c := t.Stages[k-1].Ceiling
		r.Ceiling, r.Overs = &c.CeilingDBFS, c.Overs
	}
	for _, b := range t.Boundaries {
		r.NonFinite = max(r.NonFinite, b.NonFiniteSamples)
	}
	for _, s := range t.Stages {
		if s.Ceiling != nil && s.Ceiling.Cutting != nil && s.kind().FarPercent > 0 {
			r.Clipped = append(r.Clipped, Clipped{s.Stage, s.Kind, s.Ceiling.ClippedPercent})
		}
	}
	return r
}

// add counts a row, the first of its mix or a further one.
func (sum *Totals) add(r *Row, first bool, releaseDBFS float64) {
	if first {
		sum.Tracks++
		sum.DurationS = round(sum.DurationS+r.DurationS, timeSteps)
	}
	sum.Overs += r.Overs
	sum.LimitedSamples += r.Limited
	sum.NonFiniteSamples += r.NonFinite
	sum.RequirementsFailed += len(r.Failed)
	if r.trueOver(releaseDBFS) {
		sum.TrueOvers++
	}
}

// trueOver reports whether the true peak at the end passes the ceiling in force there:
// that of the last stage that has one, or the release's.
func (r *Row) trueOver(releaseDBFS float64) bool {
	at := releaseDBFS
	if r.Ceiling != nil {
		at = *r.Ceiling
	}
	return r.TruePeak != nil && *r.TruePeak > at
}

// outcome is that of the entry, as far as a row shows it.
func (r *Row) outcome() outcome {
	return outcome{net: r.Net, trueNet: r.TrueNet, idle: r.Idle, clamped: r.Clamped}
}

func (r *Row) label() string { return Label(r.Name, Version(r.Variant, r.Delivery)) }

// FailedRequirements is as that of the entry.
func (r *Row) FailedRequirements() []string { return failedTexts(r.label(), r.Failed) }
