package survey

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"ledgerline/stages/portable"
)

// A figure is one that a value can be solved for: all rise as more is driven into the chain's ceilings.
type figure struct {
	name, unit, most string // as a row has it; its unit; "loudest" of values within limits
	limit            string // the requirement of a measure that is about it
	of               func(*Row) *float64
	share            bool // a share in percent: it is solved for on its logarithm
	// heights apart from a goal: where the search ends, and what counts as the goal, of a share about a quarter
	// of it
	near, within float64
}

var figures = []figure{
	{name: "loudness_lufs", unit: "LUFS", most: "the loudest", limit: "loudness_max_lufs", near: 0.025,
		within: 0.05,
		of:     func(r *Row) *float64 { return r.LoudnessLUFS }},
	{name: "removed_db", unit: "dB", most: "the most removed", limit: "removed_max_db", near: 0.1, within: 0.25,
		of: func(r *Row) *float64 { return r.RemovedDB }},
	{name: "clipped_percent", unit: "%", most: "the most clipped", limit: "clipped_max_percent", share: true,
		near: 0.05, within: 0.25,
		of: func(r *Row) *float64 { return &r.ClippedPercent }},
	{name: "noise_to_mask_db", unit: "dB", most: "the most", limit: "noise_to_mask_max_db", near: 0.1,
		within: 0.25,
		of: func(r *Row) *float64 {
			if r.Audibility == nil {
				return nil
			}
			return r.Audibility.NoiseToMaskDB
		}},
	{name: "disturbed_percent", unit: "%", most: "the most disturbed", limit: "disturbed_max_percent",
		share: true, near: 0.05, within: 0.25,
		of: func(r *Row) *float64 {
			if r.Audibility == nil {
				return nil
			}
			return &r.Audibility.DisturbedPercent
		}},
}

// figureFor is the figure that a requirement limits.
func figureFor(requirement string) (figure, bool) {
	at := slices.IndexFunc(figures, func(f figure) bool { return f.limit == requirement })
	if at < 0 {
		return figure{}, false
	}
	return figures[at], true
}

// leastShare is what a share of less counts as on the logarithm, in percent: a window in three minutes.
const leastShare = 0.025

// lowest is what a figure counts as that does not exist, because nothing is heard, or nothing was removed.
const lowest = -200

// height is what is solved on: a figure, or the logarithm of a share.
func (f figure) height(x *float64) float64 {
	switch {
	case x == nil:
		return lowest
	case f.share:
		return portable.Log(max(*x, leastShare))
	}
	return max(*x, lowest)
}

// away is how far a row is from a goal, in the figure's unit; infinitely, if the figure does not exist there.
func (f figure) away(row *Row, goal float64) float64 {
	x := f.of(row)
	if x == nil {
		return math.Inf(1)
	}
	return math.Abs(*x - goal)
}

// text is a figure with its unit.
func (f figure) text(x *float64) string { return figureText(x) + " " + f.unit }

func newTarget(text string) (*Target, error) {
	var names []string
	for _, f := range figures {
		names = append(names, f.name)
	}
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return nil, wrong("", "--target %q: want FIGURE=VALUE, such as loudness_lufs=-9.5", text)
	}
	at := slices.Index(names, name)
	if at < 0 {
		return nil, wrong(meant(name, names), "--target %q: no figure of a survey is named %q", text, name)
	}
	x, err := strconv.ParseFloat(value, 64)
	f := figures[at]
	low, high := -200.0, 50.0
	switch {
	case f.share:
		low, high = leastShare, 100
	case f.unit == "LUFS":
		low, high = -70, 20
	}
	if err != nil || math.IsNaN(x) || x < low || x > high {
		return nil, wrong("", "--target %q: want a number from %v to %v %s", text, low, high, f.unit)
	}
	return &Target{Figure: name, Wanted: x, figure: f}, nil
}
