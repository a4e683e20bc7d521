package ledger

import (
	"math"

	"ledgerline/stages/portable"
)

// role says how a figure can follow another.
type role int

const (
	first  role = iota // leads, unless it moved as at the boundary before
	mirror             // sample peak and true headroom: headroom and true peak with the other sign
	minor              // made from, or moving along with, the leading ones
	local              // of the stage alone: never carried on
	change             // repeats the headroom if that did not move at the boundary before
	twin               // the net from true peaks: listed if its move differs from the net's
)

// kept is one figure of the record that is compared.
type kept struct {
	key, name, unit string // the unit is that of a difference
	level           string // the unit of the figure itself
	up, down        string // words for a greater and a lesser figure
	role            role
	of              func(b Boundary, s StageResult) *float64
}

const (
	unitDB      = "dB"
	unitLU      = "LU"
	unitSamples = "samples"
	unitScale   = "full scale"
)

// compared are the figures that are compared, in the order in which equal moves are
// listed. Times, channels, the worst overs and the number of touched samples are left out:
// they move with every small change and mean nothing by themselves.
var compared = []kept{
	{
		"headroom_db", "headroom", unitDB, "dB", "gained", "lost", first, ofBoundary(func(b Boundary) *float64 {
			return b.HeadroomDB
		}),
	},
	{
		"true_headroom_db", "true headroom", unitDB, "dB", "gained", "lost", mirror,
		ofBoundary(Boundary.trueHeadroom),
	},
	{
		"sample_peak_dbfs", "sample peak", unitDB, "dBFS", "rose", "fell", mirror,
		ofBoundary(func(b Boundary) *float64 { return b.SamplePeakDBFS }),
	},
	{
		"true_peak_dbtp", "true peak", unitDB, "dBTP", "rose", "fell", first, ofBoundary(func(b Boundary) *float64 {
			return b.TruePeakDBTP
		}),
	},
	{
		"loudness_lufs", "loudness", unitLU, "LUFS", "rose", "fell", first, ofBoundary(func(b Boundary) *float64 {
			return b.LoudnessLUFS
		}),
	},
	{"change_db", "change", unitDB, unitDB, "gained", "lost", change, func(_ Boundary, s StageResult) *float64 {
		return s.ChangeDB
	}},
	{"net_db", "net", unitDB, unitDB, "gained", "lost", local, func(_ Boundary, s StageResult) *float64 {
		return s.NetDB
	}},
	{"true_net_db", "true net", unitDB, unitDB, "gained", "lost", twin,
		func(_ Boundary, s StageResult) *float64 {
			return s.trueNet()
		}},
	{
		"overs", "overs", unitSamples, unitSamples, "rose", "fell", first, ofCeiling(func(c Ceiling) *float64 {
			return counted(c.Overs)
		}),
	},
	{
		"largest_over_db", "largest over", unitDB, unitDB, "rose", "fell", minor,
		ofCeiling(func(c Ceiling) *float64 { return &c.LargestOverDB }),
	},
	{"removed_db", "removed level", unitDB, unitDB, "rose", "fell", local, ofCeiling(Ceiling.removed)},
	{
		"deepest_cut_db", "deepest cut", unitDB, unitDB, "rose", "fell", minor, ofCeiling(func(c Ceiling) *float64 {
			return c.DeepestCutDB
		}),
	},
	{
		"clamped_samples", "clamped samples", unitSamples, unitSamples, "rose", "fell", local,
		ofCeiling(func(c Ceiling) *float64 { return counted(c.ClampedSamples) }),
	},
	{
		"loudness_range_lu", "loudness range", unitLU, "LU", "widened", "narrowed", first,
		ofBoundary(func(b Boundary) *float64 { return b.LoudnessRangeLU }),
	},
	{
		"momentary_max_lufs", "momentary max", unitLU, "LUFS", "rose", "fell", minor,
		ofBoundary(func(b Boundary) *float64 { return b.MomentaryMaxLUFS }),
	},
	{
		"short_term_max_lufs", "short-term max", unitLU, "LUFS", "rose", "fell", minor,
		ofBoundary(func(b Boundary) *float64 { return b.ShortTermMaxLUFS }),
	},
	{
		"rms_dbfs", "RMS", unitDB, "dBFS", "rose", "fell", minor, ofBoundary(func(b Boundary) *float64 {
			return b.RMSDBFS
		}),
	},
	{
		"crest_factor_db", "crest factor", unitDB, "dB", "rose", "fell", minor,
		ofBoundary(func(b Boundary) *float64 { return b.CrestFactorDB }),
	},
	{
		"peak_to_loudness_lu", "peak to loudness", unitLU, "LU", "rose", "fell", minor,
		ofBoundary(func(b Boundary) *float64 { return b.PeakToLoudnessLU }),
	},
	{"dc_offset", "DC offset", unitScale, unitScale, "rose", "fell", first, ofBoundary(largestDC)},
	{
		"nonfinite_samples", "not finite", unitSamples, unitSamples, "rose", "fell", first,
		ofBoundary(func(b Boundary) *float64 { return counted(b.NonFiniteSamples) }),
	},
}

// The figures of the files that a track came to.
var (
	limited = kept{
		key: "limited_samples", name: "limited samples", unit: unitSamples, level: unitSamples, up: "rose",
		down: "fell", role: local,
	}
	matchedGain = kept{
		key: "matched_gain_db", name: "gain to match", unit: unitDB, level: unitDB, up: "rose", down: "fell",
		role: local,
	}
	removedGain = kept{
		key: "removed_gain_db", name: "gain of the chain", unit: unitDB, level: unitDB, up: "rose", down: "fell",
		role: local,
	}
)

func ofBoundary(of func(Boundary) *float64) func(Boundary, StageResult) *float64 {
	return func(b Boundary, _ StageResult) *float64 { return of(b) }
}

// ofCeiling is a figure of a stage's ceiling, nil where it has none.
func ofCeiling(of func(Ceiling) *float64) func(Boundary, StageResult) *float64 {
	return func(_ Boundary, s StageResult) *float64 {
		if s.Ceiling == nil {
			return nil
		}
		return of(*s.Ceiling)
	}
}

// removed is the level of what was removed, nil of a measure.
func (c Ceiling) removed() *float64 {
	if c.Cutting == nil {
		return nil
	}
	return c.RemovedDB
}

func counted(n int64) *float64 {
	x := float64(n)
	return &x
}

// largestDC is the DC offset of the channel that has most of it, with its sign.
func largestDC(b Boundary) *float64 {
	if len(b.DCOffset) == 0 {
		return nil
	}
	most := 0.0
	for _, x := range b.DCOffset {
		if math.Abs(x) > math.Abs(most) {
			most = x
		}
	}
	return &most
}

// move is how the figure moved from old to new, and whether by more than the
// tolerance.
func (f kept) move(old, new *float64, toleranceDB float64) (Move, bool) {
	m := Move{Figure: f.key, Unit: f.unit, Old: old, New: new, weight: always}
	switch {
	case old == nil && new == nil:
		return m, false
	case old == nil:
		m.Word = "appeared"
		return m, true
	case new == nil:
		m.Word = "vanished"
		return m, true
	}
	by := round(*new-*old, dcSteps) // finer than any figure's own rounding
	m.By, m.Word = &by, f.up
	if by < 0 {
		m.Word = f.down
	}
	m.weight = f.weight(*old, *new)
	if f.unit == unitSamples {
		return m, by != 0
	}
	return m, m.weight > toleranceDB
}

// weight is how much a figure moved, in dB: for a number of samples the level of the
// ratio, for a DC offset the level by which full scale would rise.
func (f kept) weight(old, new float64) float64 {
	switch f.unit {
	case unitSamples:
		return 20 * math.Abs(portable.Log10(1+math.Abs(new))-portable.Log10(1+math.Abs(old)))
	case unitScale:
		return 20 * portable.Log10(1+math.Abs(new-old))
	}
	return math.Abs(round(new-old, levelSteps))
}
