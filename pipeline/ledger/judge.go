package ledger

import "ledgerline/stages"

// figureOf finds the figure that a requirement is about, by the requirement's key.
var figureOf = map[string]func(f found) *float64{
	"sample_peak_max_dbfs":      func(f found) *float64 { return f.SamplePeakDBFS },
	"true_peak_max_dbtp":        func(f found) *float64 { return f.TruePeakDBTP },
	"true_peak_bs1770_max_dbtp": func(f found) *float64 { return f.BS1770DBTP },
	"true_peak_sinc49_max_dbtp": func(f found) *float64 { return f.Sinc49DBTP },
	"loudness_min_lufs":         func(f found) *float64 { return f.LoudnessLUFS },
	"loudness_max_lufs":         func(f found) *float64 { return f.LoudnessLUFS },
	"loudness_range_max_lu":     func(f found) *float64 { return f.LoudnessRangeLU },
	"overs_max":                 func(f found) *float64 { return &f.overs },
	"removed_max_db":            func(f found) *float64 { return f.whole.RemovedDB },
	"clipped_max_percent":       func(f found) *float64 { return &f.whole.ClippedPercent },
	"noise_to_mask_max_db":      func(f found) *float64 { return f.whole.Audibility.noiseToMask() },
	"disturbed_max_percent":     func(f found) *float64 { return f.whole.Audibility.disturbed() },
}

// found is what a requirement may be about: the reading at its stage, and the chain as a whole.
type found struct {
	Boundary
	ShortReadings
	overs float64
	whole *Whole
}

// ShortReadings are the true peak at a boundary as two short filters read it, rounded as every figure; nil:
// silence, or not read.
type ShortReadings struct{ BS1770DBTP, Sinc49DBTP *float64 }

// RequiresShort says whether a measure requires something of them.
func RequiresShort(s stages.Settings) bool {
	for _, r := range shortReadings {
		if _, required := s[r.key]; required {
			return true
		}
	}
	return false
}

// leastKey is the one requirement that asks for a least figure.
const leastKey = "loudness_min_lufs"

// Judge judges the requirements of a stage that reads at its boundary, in
// the order of its kind's keys. Short is what short filters read there. The overs are
// those of the stage's Ceiling; whole is the chain as one stage. Both sides are compared as the ledger prints
// them, so that what reads equal is judged equal.
func Judge(use stages.Use, b Boundary, short ShortReadings, overs int64, whole *Whole) []Requirement {
	var judged []Requirement
	for _, key := range use.Of().Keys {
		wanted, ok := number(use.Settings[key.Name])
		if !ok {
			continue
		}
		r := Requirement{Stage: use.Name, Key: key.Name, Wanted: round(wanted, levelSteps)}
		r.Found = figureOf[key.Name](found{b, short, float64(overs), whole})
		r.Passed = r.meets()
		judged = append(judged, r)
	}
	return judged
}

// meets reports whether what was found meets what was wanted. A figure that does not exist passes no limit,
// and reaches no least.
func (r Requirement) meets() bool {
	switch {
	case r.Key == leastKey:
		return r.Found != nil && *r.Found >= r.Wanted
	default:
		return r.Found == nil || *r.Found <= r.Wanted
	}
}

// number is a setting's value where it is a number.
func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int64:
		return float64(v), true
	}
	return 0, false
}
