package ledger

import (
	"math"

	"ledgerline/stages"
	"ledgerline/stages/meter"
)

// Steps of one unit that the record keeps.
const (
	levelSteps = 1e4 // dB, LU, dBFS, dBTP, LUFS
	timeSteps  = 1e6 // seconds
	dcSteps    = 1e7 // full scale
)

// round is x to the nearest of so many steps a unit; never -0. It changes
// nothing the second time.
func round(x, steps float64) float64 {
	// Beyond this the product has so few digits after the point that it may round
	// another way the second time, and further on it overflows.
	if math.Abs(x)*steps >= 1<<49 {
		return x
	}
	if r := math.Round(x*steps) / steps; r != 0 {
		return r
	}
	return 0
}

// Level is a level or a loudness in dB or LU as the record has it: rounded to
// 1e-4, never -0, and nil where there is none, as of silence.
func Level(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	r := round(x, levelSteps)
	return &r
}

// minus is a-b of two rounded levels, nil where one of them is.
func minus(a, b *float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	return Level(*a - *b)
}

// plus is a+b of two rounded levels, nil where one of them is.
func plus(a, b *float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	return Level(*a + *b)
}

// Seconds is the time of a frame at a rate in Hz, or the duration of so many
// frames, rounded to 1e-6 s.
func Seconds(frames int64, rate int) float64 {
	return round(float64(frames)/float64(rate), timeSteps)
}

// NewBoundary makes boundary k's figures from what was read there. The stage is
// the one before the boundary, "source" at boundary 0; the rate is that of the
// reading's frames, the ceiling the release's.
func NewBoundary(k int, stage string, r meter.Reading, rate int, ceilingDBFS float64) Boundary {
	b := Boundary{
		Boundary:         k,
		Stage:            stage,
		RateHz:           rate,
		SamplePeakDBFS:   Level(stages.DB(r.SamplePeak)),
		TruePeakDBTP:     Level(stages.DB(r.TruePeak)),
		LoudnessLUFS:     Level(r.Integrated),
		LoudnessRangeLU:  Level(r.Range),
		MomentaryMaxLUFS: Level(r.MaxMomentary),
		ShortTermMaxLUFS: Level(r.MaxShortTerm),
		RMSDBFS:          Level(stages.DB(r.RMS)),
		DCOffset:         make([]float64, len(r.DC)),
		NonFiniteSamples: r.NonFinite,
	}
	for c, x := range r.DC {
		if !math.IsInf(x, 0) && !math.IsNaN(x) {
			b.DCOffset[c] = round(x, dcSteps)
		}
	}
	if b.SamplePeakDBFS != nil {
		t := Seconds(r.PeakFrame, rate)
		b.SamplePeakTimeS, b.SamplePeakChannel = &t, r.PeakChannel+1
	}
	if r.NonFinite > 0 {
		t := Seconds(r.FirstNonFinite, rate)
		b.FirstNonFiniteTimeS = &t
	}
	b.CrestFactorDB = minus(b.SamplePeakDBFS, b.RMSDBFS)
	b.PeakToLoudnessLU = minus(b.TruePeakDBTP, b.LoudnessLUFS)
	b.HeadroomDB = minus(Level(ceilingDBFS), b.SamplePeakDBFS)
	b.TrueHeadroomDB = minus(Level(ceilingDBFS), b.TruePeakDBTP)
	return b
}

// NewStageResult makes what a stage did from the boundaries around it. The
// loudness change is in LU, as meter.LoudnessChange has it; one that is not finite
// is there where a side has no loudness. The ceiling is nil for a stage that has
// none and is no measure.
func NewStageResult(name, kind string, before, after Boundary, loudnessChange float64,
	c *Ceiling) StageResult {
	s := StageResult{
		Stage:            name,
		Kind:             kind,
		HeadroomBeforeDB: before.HeadroomDB,
		HeadroomAfterDB:  after.HeadroomDB,
		ChangeDB:         minus(after.HeadroomDB, before.HeadroomDB),
		LoudnessChangeLU: Level(loudnessChange),
		TruePeakChangeDB: minus(after.TruePeakDBTP, before.TruePeakDBTP),
		Ceiling:          c,
	}
	s.NetDB = plus(s.ChangeDB, s.LoudnessChangeLU)
	s.TrueNetDB = minus(s.LoudnessChangeLU, s.TruePeakChangeDB)
	return s
}

// AddLimited counts samples as overs that the output's encoding limited to full scale before they were read,
// the largest of which had that magnitude. Over a lower ceiling they still are.
func (c *Ceiling) AddLimited(samples int64, largest float64) {
	if samples == 0 || c.CeilingDBFS < 0 {
		return
	}
	c.Overs += samples
	if by := Level(stages.DB(largest) - c.CeilingDBFS); by != nil {
		c.LargestOverDB = max(c.LargestOverDB, *by)
	}
}

// NewCeiling makes how a stage kept its ceiling: from what was read after it, by a
// meter that was given this ceiling, from what the stage says it did, and from what
// it removed, which is nil for a measure. The rate is that of the frames after it.
func NewCeiling(ceilingDBFS float64, after meter.Reading, rate int, e stages.Effect,
	removed *Cutting) *Ceiling {
	c := &Ceiling{
		CeilingDBFS:    round(ceilingDBFS, levelSteps),
		Overs:          after.Overs,
		TouchedSamples: e.Touched,
		DeepestCutDB:   Level(stages.DB(max(e.Cut, 1))),
		ClampedSamples: e.Clamped,
		LinkMoreDB:     removedLevel(e.Removed, e.Unlinked),
		Cutting:        removed,
	}
	for _, o := range after.WorstOvers {
		by := Level(stages.DB(o.Value) - ceilingDBFS)
		if by == nil { // not finite: counted as such at the boundary
			continue
		}
		c.Worst = append(c.Worst, Over{TimeS: Seconds(o.Frame, rate), Channel: o.Channel + 1, OverDB: *by})
		c.LargestOverDB = max(c.LargestOverDB, *by)
	}
	return c
}
