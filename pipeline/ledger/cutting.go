package ledger

import (
	"ledgerline/stages"
	"ledgerline/stages/meter"
	"ledgerline/stages/portable"
)

// NewCutting is the record of what was removed, from its measurement. The rate is that of
// its frames, in Hz. Cuts smaller than the rounding are left out.
func NewCutting(r meter.RemovalReading, rate int) Cutting {
	c := Cutting{
		RemovedDB:         removedLevel(r.Removed, r.Driven),
		RemovedWorst400ms: newWindow(r.Worst400ms, rate),
		RemovedWorst3s:    newWindow(r.Worst3s, rate),
		ClippedSamples:    r.Clipped,
		ClippedPercent:    share(r.Clipped, r.Samples),
	}
	for _, cut := range r.Cuts {
		by := Level(stages.DB(cut.By))
		if by != nil && *by == 0 {
			continue
		}
		c.DeepestCuts = append(c.DeepestCuts, Cut{
			TimeS: Seconds(cut.Frame, rate), Channel: cut.Channel + 1, CutDB: by,
		})
	}
	return c
}

// LimitCutting is the record of what a quantiser's limit removed, as the quantiser reports
// it. Whatever else a quantiser removes is its own noise, so there are no windows. The
// reading is that of the boundary before it.
func LimitCutting(before meter.Reading, e stages.Effect) *Cutting {
	return &Cutting{
		RemovedDB:      removedLevel(e.Removed, before.SumSquares),
		ClippedSamples: e.Touched,
		ClippedPercent: share(e.Touched, before.Frames*int64(len(before.DC))),
	}
}

// removedLevel is the level of what was removed, relative to the driven input, from the
// sums of squares of both; nil if there is no such level.
func removedLevel(removed, driven float64) *float64 {
	if !(removed > 0 && driven > 0) {
		return nil
	}
	return Level(10 * portable.Log10(removed/driven))
}

// newWindow is a window, nil where nothing was removed.
func newWindow(w meter.RemovalWindow, rate int) *Window {
	if !(w.Removed > 0) {
		return nil
	}
	return &Window{TimeS: Seconds(w.Frame, rate), DB: removedLevel(w.Removed, w.Driven)}
}

// share is part of all, in percent.
func share(part, all int64) float64 {
	if all == 0 {
		return 0
	}
	return round(100*float64(part)/float64(all), levelSteps)
}
