package ledger

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerline/stages"
	"ledgerline/stages/meter"
)

func near(t *testing.T, name string, got *float64, want float64) {
	t.Helper()
	if got == nil || *got != want {
		t.Errorf("%s = %s, want %v", name, shown(got), want)
	}
}

func shown(x *float64) any {
	if x == nil {
		return "nothing"
	}
	return *x
}

// Closed form: a full-scale sine has peak 0 dBFS and RMS 20 log10(1/sqrt 2) =
// -3.0103 dB, a full-scale square RMS 0 dB; half scale is -6.0206 dB.
func TestBoundaryDecibels(t *testing.T) {
	r := meter.Reading{
		Frames: 48000, SamplePeak: 0.5, PeakFrame: 12000, PeakChannel: 1, TruePeak: 1,
		Integrated: -3.0103, Range: 0, MaxMomentary: -3.01, MaxShortTerm: math.Inf(-1),
		RMS: 1 / math.Sqrt2, DC: []float64{0.25, -1.23456789e-3},
	}
	b := NewBoundary(2, "clip", r, 48000, -1)
	near(t, "sample peak", b.SamplePeakDBFS, -6.0206)
	near(t, "time", b.SamplePeakTimeS, 0.25)
	near(t, "true peak", b.TruePeakDBTP, 0)
	near(t, "RMS", b.RMSDBFS, -3.0103)
	near(t, "crest factor", b.CrestFactorDB, -3.0103)
	near(t, "peak to loudness", b.PeakToLoudnessLU, 3.0103)
	near(t, "headroom", b.HeadroomDB, 5.0206)
	if b.ShortTermMaxLUFS != nil {
		t.Errorf("short-term max = %v of a signal shorter than 3 s", *b.ShortTermMaxLUFS)
	}
	if b.SamplePeakChannel != 2 || b.Boundary != 2 || b.Stage != "clip" || b.FirstNonFiniteTimeS != nil {
		t.Errorf("got %+v", b)
	}
	if want := []float64{0.25, -0.0012346}; !reflect.DeepEqual(b.DCOffset, want) {
		t.Errorf("DC = %v, want %v", b.DCOffset, want)
	}
}

func TestBoundarySilence(t *testing.T) {
	b := silence().Boundaries[0]
	for name, x := range map[string]*float64{
		"sample peak": b.SamplePeakDBFS, "time": b.SamplePeakTimeS, "true peak": b.TruePeakDBTP,
		"loudness": b.LoudnessLUFS,
		"RMS":      b.RMSDBFS, "crest": b.CrestFactorDB, "peak to loudness": b.PeakToLoudnessLU,
		"headroom": b.HeadroomDB,
	} {
		if x != nil {
			t.Errorf("%s = %v in silence", name, *x)
		}
	}
	if b.SamplePeakChannel != 0 || math.Signbit(b.DCOffset[1]) {
		t.Errorf("channel %d, DC %v", b.SamplePeakChannel, b.DCOffset)
	}
}

// A reading full of NaN makes figures that do not exist, and a record that can still be
// written.
func TestBoundaryNoNumbers(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, x := range []float64{nan, inf, -inf} {
		r := meter.Reading{
			SamplePeak: x, TruePeak: x, Integrated: x, Range: x, MaxMomentary: x, MaxShortTerm: x, RMS: x,
			DC: []float64{x}, NonFinite: 3, FirstNonFinite: 44100, Overs: 1, WorstOvers: []meter.Over{{Value: x}},
		}
		b := NewBoundary(0, "source", r, 44100, -1)
		near(t, "first not finite", b.FirstNonFiniteTimeS, 1)
		c := NewCeiling(-1, r, 44100, stages.Effect{Cut: x}, LimitCutting(meter.Reading{SumSquares: x},
			stages.Effect{Removed: x}))
		text, err := json.Marshal([]any{b, c, NewStageResult("a", "gain", b, b, x, c), NewWhole(b, b, x)})
		if err != nil {
			t.Errorf("%v: %v", x, err)
		}
		if len(c.Worst) != 0 || b.HeadroomDB != nil {
			t.Errorf("%v: %s", x, text)
		}
	}
}

// DESIGN: change is the headroom after minus before, positive = gained; net is
// change plus loudness change, and that of a plain gain is zero.
func TestStageResult(t *testing.T) {
	points := chain(4, -18.31)
	track := render("01 lantern quay", "", -1, points)
	drive, clip := track.Stages[0], track.Stages[1]
	near(t, "drive change", drive.ChangeDB, -4)
	near(t, "drive net", drive.NetDB, 0)
	near(t, "clip before", clip.HeadroomBeforeDB, -4)
	near(t, "clip after", clip.HeadroomAfterDB, -0.58)
	near(t, "clip change", clip.ChangeDB, 3.42)
	near(t, "clip loudness change", clip.LoudnessChangeLU, -0.29)
	near(t, "clip net", clip.NetDB, 3.13)
	near(t, "clip true peak change", clip.TruePeakChangeDB, -3.28)
	near(t, "clip true net", clip.TrueNetDB, 2.99)
	near(t, "drive true net", drive.TrueNetDB, 0)
	near(t, "true headroom after the clip", track.Boundaries[2].TrueHeadroomDB, -1.1)
	near(t, "whole change", track.Whole.ChangeDB, 0)
	near(t, "whole loudness change", track.Whole.LoudnessChangeLU, 3.68)
	near(t, "whole net", track.Whole.NetDB, 3.68)
	near(t, "whole true net", track.Whole.TrueNetDB, 4.04)
	if drive.Ceiling != nil {
		t.Errorf("a gain has a ceiling: %+v", drive.Ceiling)
	}
	quiet := NewStageResult("clip", "hard_clip", track.Boundaries[1], silence().Boundaries[0], math.Inf(-1), nil)
	if quiet.ChangeDB != nil || quiet.NetDB != nil || quiet.LoudnessChangeLU != nil || quiet.TrueNetDB != nil {
		t.Errorf("a change into silence: %+v", quiet)
	}
}

func TestCeiling(t *testing.T) {
	before := meter.Reading{SumSquares: 1000}
	after := meter.Reading{
		Overs: 3, WorstOvers: []meter.Over{
			{Frame: 96000, Channel: 0, Value: -1}, {Frame: 48000, Channel: 1, Value: 0.95},
		},
	}
	e := stages.Effect{Touched: 7, Cut: 2, Removed: 1, Clamped: 2}
	c := NewCeiling(-6, after, 48000, e, LimitCutting(before, e))
	near(t, "deepest cut", c.DeepestCutDB, 6.0206) // 20 log10 2
	near(t, "removed", c.RemovedDB, -30)           // 10 log10 of a thousandth of the power
	want := []Over{{TimeS: 2, Channel: 1, OverDB: 6}, {TimeS: 1, Channel: 2, OverDB: 5.5545}}
	if !reflect.DeepEqual(c.Worst, want) || c.LargestOverDB != 6 || c.Overs != 3 || c.TouchedSamples != 7 ||
		c.ClampedSamples != 2 {
		t.Errorf("got %+v", c)
	}
	e = stages.Effect{}
	none := NewCeiling(-6, meter.Reading{}, 48000, e, LimitCutting(before, e))
	near(t, "no cut", none.DeepestCutDB, 0)
	if none.RemovedDB != nil || none.LargestOverDB != 0 || none.Worst != nil {
		t.Errorf("got %+v of a stage that did nothing", none)
	}
	if c := NewCeiling(-6, after, 48000, stages.Effect{Cut: math.Inf(1)}, nil); c.DeepestCutDB != nil {
		t.Errorf("deepest cut %v of a sample that became silence", *c.DeepestCutDB)
	}
}

// Every printed difference is that of the printed figures, and rounding a second time
// changes nothing.
func TestRoundedOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := rapid.Float64Range(-150, 30)
		read := func() meter.Reading {
			return meter.Reading{
				SamplePeak: stages.Linear(draw.Draw(t, "peak")), TruePeak: stages.Linear(draw.Draw(t, "true")),
				Integrated: draw.Draw(t, "loudness"), RMS: stages.Linear(draw.Draw(t, "rms")),
			}
		}
		ceiling := rapid.Float64Range(-60, 0).Draw(t, "ceiling")
		a, b := NewBoundary(0, "source", read(), 44100, ceiling), NewBoundary(1, "x", read(), 44100, ceiling)
		louder := draw.Draw(t, "loudness change")
		s := NewStageResult("x", "gain", a, b, louder, nil)
		for _, eq := range [][3]float64{
			{*a.SamplePeakDBFS, *a.RMSDBFS, *a.CrestFactorDB},
			{*a.TruePeakDBTP, *a.LoudnessLUFS, *a.PeakToLoudnessLU},
			{round(ceiling, levelSteps), *b.SamplePeakDBFS, *b.HeadroomDB},
			{*s.HeadroomAfterDB, *s.HeadroomBeforeDB, *s.ChangeDB},
			{round(ceiling, levelSteps), *b.TruePeakDBTP, *b.TrueHeadroomDB},
			{round(louder, levelSteps), 0, *s.LoudnessChangeLU},
			{*s.ChangeDB, -*s.LoudnessChangeLU, *s.NetDB},
			{*s.LoudnessChangeLU, *s.TruePeakChangeDB, *s.TrueNetDB},
		} {
			if got := math.Round((eq[0] - eq[1]) * 1e4); got != math.Round(eq[2]*1e4) {
				t.Fatalf("%v - %v is printed as %v", eq[0], eq[1], eq[2])
			}
			if text, _ := json.Marshal(eq[2]); strings.Contains(string(text), "-0,") || len(text) > 9 {
				t.Fatalf("%s has more than four decimals", text)
			}
		}
	})
}

func TestRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64().Draw(t, "x")
		for _, steps := range []float64{100, levelSteps, timeSteps, dcSteps} {
			once := round(x, steps)
			if twice := round(once, steps); twice != once {
				t.Fatalf("round(%v) = %v, then %v", x, once, twice)
			}
			if once == 0 && math.Signbit(once) {
				t.Fatalf("round(%v) is minus zero", x)
			}
			if math.IsInf(once, 0) || math.Abs(once-x) > 0.5/steps+1e-15*math.Abs(x) {
				t.Fatalf("round(%v) to 1/%v = %v", x, steps, once)
			}
		}
	})
}

func TestSeconds(t *testing.T) {
	for _, tt := range []struct {
		frames int64
		rate   int
		want   float64
	}{
		{0, 44100, 0}, {44100, 44100, 1}, {1, 44100, 0.000023}, {1, 384000, 0.000003}, {2, 384000, 0.000005},
		{1 << 40, 192000, 5726623.061333},
	} {
		if got := Seconds(tt.frames, tt.rate); got != tt.want {
			t.Errorf("Seconds(%d, %d) = %v, want %v", tt.frames, tt.rate, got, tt.want)
		}
	}
}
