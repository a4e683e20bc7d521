package ledger

import (
	"bytes"
	"flag"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerline/stages"
	"ledgerline/stages/meter"
)

var update = flag.Bool("update", false, "write the golden texts anew")

// golden compares a text with testdata/name.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", name, diff)
	}
}

// printed is what print writes through a printer.
func printed(t *testing.T, colour bool, print func(Printer) error) []byte {
	t.Helper()
	var text bytes.Buffer
	if err := print(Printer{Out: &text, Colour: colour}); err != nil {
		t.Fatal(err)
	}
	return text.Bytes()
}

// point is what an invented meter reads at one boundary.
type point struct {
	name, kind     string
	peak, truePeak float64 // dBFS, dBTP
	loudness       float64 // LUFS
	overs          int64
	over           float64 // how far the furthest passes the ceiling, dB
	settings       map[string]any
	effect         stages.Effect
	ceiling        float64
	holdsCeiling   bool
}

const ferryRate = 44100

// reading is the meter reading of a point of an invented track of six seconds.
func (p point) reading() meter.Reading {
	r := meter.Reading{
		Frames: 6 * ferryRate, SamplePeak: stages.Linear(p.peak), PeakFrame: 66150, PeakChannel: 1,
		TruePeak: stages.Linear(p.truePeak), Integrated: p.loudness, Range: 3.2, MaxMomentary: p.loudness + 2.5,
		MaxShortTerm: p.loudness + 0.8, RMS: stages.Linear(p.loudness - 0.5), DC: []float64{1.25e-5, -3e-9},
		SumSquares: 12 * ferryRate * math.Pow(10, (p.loudness-0.5)/10), Overs: p.overs,
	}
	if p.overs > 0 {
		r.WorstOvers = []meter.Over{{Frame: 66150, Channel: 1, Value: -stages.Linear(p.ceiling + p.over)}}
	}
	return r
}

// cutting is what the stage before a point removed, without places.
func (p point) cutting(before point) *Cutting {
	if p.kind == "measure" {
		return nil
	}
	return LimitCutting(before.reading(), p.effect)
}

// wholeCutting is what a chain removed; a tenth of it is common to its stages.
func wholeCutting(points []point) Cutting {
	if len(points) == 1 {
		return Cutting{}
	}
	r := meter.RemovalReading{Samples: 12 * ferryRate, Clipped: 8100, Driven: points[1].reading().SumSquares}
	for _, p := range points {
		if p.kind != "dither" {
			r.Removed += 1.1 * p.effect.Removed
		}
	}
	r.Worst400ms = meter.RemovalWindow{Frame: 44100, Removed: r.Removed / 2, Driven: r.Driven / 20}
	r.Worst3s = meter.RemovalWindow{Frame: 0, Removed: r.Removed, Driven: r.Driven / 2}
	r.Cuts = []meter.Cut{
		{Frame: 66150, Channel: 1, By: points[1].effect.Cut + 2}, {Frame: 30000, By: math.Inf(1)},
	}
	return NewCutting(r, ferryRate)
}

// chain is the chain of the invented release with the drive at some dB, and what
// it makes of a mix with a peak of -1 dBFS.
func chain(drive, loudness float64) []point {
	at := loudness + drive
	cut := stages.Effect{Touched: 9100, Cut: stages.Linear(drive), Removed: 4.2}
	rest := stages.Effect{Touched: 640, Cut: stages.Linear(0.58), Removed: 0.03}
	noise := stages.Effect{Touched: 529100, Removed: 4e-9}
	return []point{
		{name: "source", peak: -1, truePeak: -0.62, loudness: loudness},
		{
			name: "drive", kind: "gain", peak: drive - 1, truePeak: drive - 0.62, loudness: at,
			settings: map[string]any{"gain_db": drive},
		},
		{name: "clip", kind: "oversampled_clip", peak: -0.42, truePeak: 0.1, loudness: at - 0.29, overs: 512,
			over: 0.58, ceiling: -1, holdsCeiling: true,
			settings: map[string]any{"ceiling_dbfs": -1.0, "factor": int64(8)}, effect: cut},
		{name: "hold", kind: "ceiling_hold", peak: -1, truePeak: -0.98, loudness: at - 0.32, ceiling: -1,
			holdsCeiling: true,
			settings:     map[string]any{"ceiling_dbfs": -1.0, "peak": "true", "method": "band_limited"},
			effect:       rest},
		{name: "dither", kind: "dither", peak: -1, truePeak: -0.98, loudness: at - 0.32,
			settings: map[string]any{"bits": int64(24), "density": "triangular", "seed": int64(0)}, effect: noise},
		{name: "delivery", kind: "measure", peak: -1, truePeak: -0.98, loudness: at - 0.32, ceiling: -1,
			holdsCeiling: true,
			settings:     map[string]any{"sample_peak_max_dbfs": -1.0, "loudness_max_lufs": -9.0},
			effect:       stages.Effect{}},
	}
}

// render makes a track from the points of its chain.
func render(name, variant string, ceiling float64, points []point) Track {
	folder := "masters/"
	if variant != "" {
		folder += variant + "/"
	}
	t := Track{
		Name: name, Variant: variant,
		Source: Source{File: "mixes/" + name + ".wav", SHA256: "aa" + name, Encoding: "pcm24", RateHz: ferryRate,
			Channels: 2,
			Frames:   6 * ferryRate, DurationS: Seconds(6*ferryRate, ferryRate)},
		Output: Output{File: folder + name + ".wav", SHA256: "bb" + name + variant, Encoding: "pcm24"},
	}
	for k, p := range points {
		b := NewBoundary(k, p.name, p.reading(), ferryRate, ceiling)
		t.Boundaries = append(t.Boundaries, b)
		if k == 0 {
			continue
		}
		var c *Ceiling
		if p.holdsCeiling {
			c = NewCeiling(p.ceiling, p.reading(), ferryRate, p.effect, p.cutting(points[k-1]))
		}
		t.Chain = append(t.Chain, stages.Use{Name: p.name, Kind: p.kind, Settings: p.settings})
		t.Stages = append(t.Stages, NewStageResult(p.name, p.kind, t.Boundaries[k-1], b,
			p.loudness-points[k-1].loudness, c))
		if p.kind == "measure" {
			t.Requirements = append(t.Requirements, Judge(stages.Requiring(p.name, p.settings), b, ShortReadings{},
				p.overs, &Whole{})...)
		}
	}
	last := len(points) - 1
	t.Whole = NewWhole(t.Boundaries[0], t.Boundaries[last], points[last].loudness-points[0].loudness)
	t.Whole.Cutting = wholeCutting(points)
	return t
}

// ferry is the invented release: three tracks, the last of them in two variants.
func ferry() *Ledger {
	l := New("ledgerline 0.1.0", "Night Ferry", -1, "5e1f")
	l.Tracks = []Track{
		render("03 last boat", "", -1, chain(3, -13.1)),
		render("02 breakwater", "", -1, chain(5.5, -14.02)),
		render("01 lantern quay", "", -1, chain(4, -18.31)),
		render("03 last boat", "plain", -1, chain(3, -13.1)[:3]),
	}
	l.Sum()
	return l
}

// silence is a track in which nothing sounds, with an empty chain.
func silence() Track {
	r := meter.Reading{
		Frames: 300, PeakFrame: -1, PeakChannel: -1, Integrated: math.Inf(-1), MaxMomentary: math.Inf(-1),
		MaxShortTerm: math.Inf(-1), Range: math.Inf(-1), DC: []float64{0, math.Copysign(0, -1)},
	}
	b := NewBoundary(0, "source", r, ferryRate, -1)
	return Track{
		Name: "00 fog", Boundaries: []Boundary{b},
		Source: Source{
			File: "mixes/00 fog.wav", Encoding: "pcm16", RateHz: ferryRate, Channels: 1, Frames: 300,
			DurationS: Seconds(300, ferryRate),
		},
		Output: Output{File: "masters/00 fog.wav", Encoding: "pcm24"},
	}
}
