package ledger

import (
	"maps"
	"slices"
	"strings"

	"ledgerline/stages"
)

// Coded is what came back of a delivery that went through a coder, read as a boundary is. All that came back
// is read.
type Coded struct {
	Coder  string   `json:"coder"`  // its name
	Encode []string `json:"encode"` // a program and its arguments, as in the release file
	Decode []string `json:"decode"` // the same
	// of the two programs: the first line that each prints, or the hash of its file
	Versions []string `json:"versions"`

	DelayFrames       int64    `json:"delay_frames"`        // of what came back, after the delivery
	SamplePeakDBFS    *float64 `json:"sample_peak_dbfs"`    // null: silence
	SamplePeakTimeS   *float64 `json:"sample_peak_time_s"`  // where it is first, in the delivery
	SamplePeakChannel int      `json:"sample_peak_channel"` // 0: silence
	SampleGrowthDB    *float64 `json:"sample_growth_db"`    // the sample peak minus that of the delivery
	TruePeakDBTP      *float64 `json:"true_peak_dbtp"`      // null: silence
	TruePeakTimeS     *float64 `json:"true_peak_time_s"`    // where it is, in the delivery
	TruePeakChannel   int      `json:"true_peak_channel"`   // 0: silence
	TrueGrowthDB      *float64 `json:"true_growth_db"`      // the true peak minus that of the delivery

	// what the true peak must not pass; missing: nothing is required
	WantedDBTP *float64 `json:"true_peak_max_dbtp,omitempty"`
	Passed     bool     `json:"passed"`           // it does not
	Solved     *Solved  `json:"solved,omitempty"` // missing: no ceiling was sought
}

// Solved is the search for the highest ceiling of a delivery's hold at which what comes back keeps the limits
// of its coders.
type Solved struct {
	Stage        string  `json:"stage"`         // the hold
	DeclaredDBFS float64 `json:"declared_dbfs"` // its ceiling in the release file
	// the one that was found, which the delivery has; null: none was, and the delivery has its own
	CeilingDBFS *float64 `json:"ceiling_dbfs"`
	LowestDBFS  float64  `json:"lowest_dbfs"` // the lowest that was tried
	Rounds      int      `json:"rounds"`      // how many were tried, the declared one among them
}

// Grown fills how much the peaks are higher than those of a delivery, whose last boundary is given.
func (c *Coded) Grown(delivery Boundary) {
	c.SampleGrowthDB = minus(c.SamplePeakDBFS, delivery.SamplePeakDBFS)
	c.TrueGrowthDB = minus(c.TruePeakDBTP, delivery.TruePeakDBTP)
}

// Require judges the true peak against a limit in dBTP; nil: nothing is required.
func (c *Coded) Require(limit *float64) {
	c.WantedDBTP, c.Passed = nil, true
	if limit == nil {
		return
	}
	wanted := round(*limit, levelSteps)
	c.WantedDBTP = &wanted
	c.Passed = c.TruePeakDBTP == nil || *c.TruePeakDBTP <= wanted
}

// through begins what a requirement of a coder has in the place of a stage.
const through = "through "

// OfCoder says whether a requirement is of a coder.
func (r Requirement) OfCoder() bool { return strings.HasPrefix(r.Stage, through) }

// requirement is what is required of what came back.
func (c *Coded) requirement() (Requirement, bool) {
	if c.WantedDBTP == nil {
		return Requirement{}, false
	}
	return Requirement{through + c.Coder, "true_peak_max_dbtp", *c.WantedDBTP, c.TruePeakDBTP, c.Passed}, true
}

// Required are all requirements: those of the measure stages, and those of the coders after them.
func (t *Track) Required() []Requirement {
	all := slices.Clone(t.Requirements)
	for i := range t.Coders {
		if r, ok := t.Coders[i].requirement(); ok {
			all = append(all, r)
		}
	}
	return all
}

// Solved is the search for the ceiling of a hold; nil: there was none.
func (t *Track) Solved() *Solved {
	for i := range t.Coders {
		if s := t.Coders[i].Solved; s != nil {
			return s
		}
	}
	return nil
}

// Declared is the chain as the release file has it: with the hold's own ceiling where another was found.
func (t *Track) Declared() []stages.Use {
	s := t.Solved()
	if s == nil {
		return t.Chain
	}
	return WithCeiling(t.Chain, slices.IndexFunc(t.Chain, func(u stages.Use) bool { return u.Name == s.Stage }),
		s.DeclaredDBFS)
}

// WithCeiling is a chain whose stage k has another ceiling, dBFS.
func WithCeiling(chain []stages.Use, k int, ceilingDBFS float64) []stages.Use {
	if k < 0 {
		return chain
	}
	chain = slices.Clone(chain)
	chain[k].Settings = maps.Clone(chain[k].Settings)
	chain[k].Settings["ceiling_dbfs"] = ceilingDBFS
	return chain
}
