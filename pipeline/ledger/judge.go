package ledger

import "ledgerline/stages"

// figureOf finds the figure that a requirement is about, by the requirement's key.
var figureOf = map[string]func(b Boundary, overs float64) *float64{
	"sample_peak_max_dbfs":  func(b Boundary, _ float64) *float64 { return b.SamplePeakDBFS },
	"true_peak_max_dbtp":    func(b Boundary, _ float64) *float64 { return b.TruePeakDBTP },
	"loudness_min_lufs":     func(b Boundary, _ float64) *float64 { return b.LoudnessLUFS },
	"loudness_max_lufs":     func(b Boundary, _ float64) *float64 { return b.LoudnessLUFS },
	"loudness_range_max_lu": func(b Boundary, _ float64) *float64 { return &b.LoudnessRangeLU },
	"overs_max":             func(_ Boundary, overs float64) *float64 { return &overs },
}

// leastKey is the one requirement that asks for a least figure.
const leastKey = "loudness_min_lufs"

// Judge judges the requirements of a measure stage at its boundary, in
// the order of the kind's keys. The overs are those of the stage's Ceiling. Both
// sides are compared as the ledger prints them, so that what reads equal is
// judged equal.
func Judge(stage string, s stages.Settings, b Boundary, overs int64) []Requirement {
	kind, _ := stages.KindNamed("measure")
	var judged []Requirement
	for _, key := range kind.Keys {
		wanted, ok := number(s[key.Name])
		if !ok {
			continue
		}
		r := Requirement{Stage: stage, Key: key.Name, Wanted: round(wanted, levelSteps)}
		r.Found = figureOf[key.Name](b, float64(overs))
		r.Passed = r.meets()
		judged = append(judged, r)
	}
	return judged
}

// meets reports whether what was found meets what was wanted.
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
