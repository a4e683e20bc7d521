package survey

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// Each value's figures are those that a render with that value has in its ledger: a render that knows of no
// survey.
func TestFiguresAreThoseOfARender(t *testing.T) {
	folder := t.TempDir()
	if err := foldertest.CopyExample(folder, "../../examples/night-ferry"); err != nil {
		t.Fatal(err)
	}
	r, err := release.Load(filepath.Join(folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	r.Output.Folder = filepath.Join(folder, "surveyed") // not where masters may be of whoever tried the command
	r.Renders = slices.DeleteFunc(r.Renders, func(x release.Render) bool {
		return x.Delivery != "" || x.Variant != "" || x.Track != "01 quay" && !long.Wanted()
	})
	for i := range r.Renders {
		r.Renders[i].Output = filepath.Join(r.Output.Folder, r.Renders[i].Track+".wav")
	}
	o := Options{
		Set: "drive.gain_db", From: new(2.0), To: new(5.0), Step: new(long.Or(3.0, 1.0)),
		Limits: []string{"disturbed_max_percent=1"},
	}
	s, errs, err := Run(context.Background(), r, o)
	if err != nil || len(errs) > 0 {
		t.Fatal(err, errs)
	}
	if _, err := os.Stat(r.Output.Folder); err == nil {
		t.Error("the survey made the output folder")
	}
	out, err := pipeline.RenderRelease(context.Background(), r, pipeline.Options{})
	if err != nil || len(out.Ledger.Tracks) != len(s.Tracks) {
		t.Fatal(err, len(s.Tracks))
	}
	for k, entry := range out.Ledger.Tracks {
		gain := entry.Chain[0].Settings["gain_db"]
		at := slices.IndexFunc(s.Tracks[k].Rows, func(row Row) bool { return row.Value == gain })
		if at < 0 {
			t.Fatalf("%s: no row of %v dB", entry.Name, gain)
		}
		row, end := s.Tracks[k].Rows[at], entry.Boundaries[len(entry.Boundaries)-1]
		if !reflect.DeepEqual(row.Whole, entry.Whole) || !reflect.DeepEqual(row.LoudnessLUFS, end.LoudnessLUFS) ||
			!reflect.DeepEqual(row.TruePeakDBTP, end.TruePeakDBTP) {
			t.Errorf("%s at %v dB: %+v, want %+v", entry.Name, gain, row.Whole, entry.Whole)
		}
		for _, r := range s.Tracks[k].Rows {
			if f := s.Tracks[k].FirstFailure; r.Unrepeated && (f == nil || r.Value <= f.Value) {
				t.Errorf("%s: the repeats of %v dB are left out", entry.Name, r.Value)
			}
		}
		if n := len(entry.Requirements); !reflect.DeepEqual(row.Requirements[:n], entry.Requirements) ||
			len(row.Requirements) != n+1 {
			t.Errorf("%s at %v dB: requirements %+v, want %+v and the limit", entry.Name, gain, row.Requirements,
				entry.Requirements)
		}
	}
}

// The same of a chain that has all that a survey reads less of than a render: stages whose single figures it
// leaves out, a measure amid them, gains after a clip, and a hold before the end.
func TestFiguresOfALongChainAreThoseOfARender(t *testing.T) {
	long.Only(t, "TestFiguresAreThoseOfARender has the chain of the example")
	info := audiofile.Info{Rate: 44100, Channels: 2, Frames: long.Or[int64](15000, 30000),
		Encoding: audiofile.PCM24}
	wave := func(c int, n int64) float64 {
		high := 0.4 * math.Sin(float64(n)*3.12) // where not every meter sees all of the true peak
		return 0.5*math.Sin(float64(n)*0.05*float64(c+1))*math.Sin(float64(n)*0.0007) + high
	}
	text := `sources = ["mixes/*.wav"]
ceiling_dbfs = -1.0
[audibility]
aliasing = true
[[stage]]
kind = "gain"
name = "drive"
gain_db = 4.0
[[stage]]
kind = "hard_clip"
name = "clip"
ceiling_dbfs = -1.5
[[stage]]
kind = "measure"
name = "amid"
true_peak_max_dbtp = -1.0
true_peak_bs1770_max_dbtp = -1.0
overs_max = 3
[[stage]]
kind = "gain"
name = "trim"
gain_db = 1.0
[[stage]]
kind = "oversampled_clip"
name = "clip_2"
ceiling_dbfs = -1.0
link = true
[[stage]]
kind = "ceiling_hold"
name = "hold"
ceiling_dbfs = -1.0
[[stage]]
kind = "gain"
name = "down"
gain_db = -0.5
[[stage]]
kind = "dither"
bits = 16
[[stage]]
kind = "measure"
name = "end"
removed_max_db = -20.0
disturbed_max_percent = 90.0
`
	row, entry := surveyedAndRendered(t, info, wave, text, 4.0)
	end := entry.Boundaries[len(entry.Boundaries)-1]
	if !reflect.DeepEqual(row.Whole, entry.Whole) || !reflect.DeepEqual(row.LoudnessLUFS, end.LoudnessLUFS) ||
		!reflect.DeepEqual(row.TruePeakDBTP, end.TruePeakDBTP) {
		t.Errorf("%+v, want %+v", row.Whole, entry.Whole)
	}
	if !reflect.DeepEqual(row.Requirements, entry.Requirements) {
		t.Errorf("requirements %+v, want %+v", row.Requirements, entry.Requirements)
	}
	if row.Unrepeated {
		t.Error("repeats are left out of the one value there is")
	}
	worst := higher(entry.Stages[1].Audibility.AliasingDisturbedPercent,
		entry.Stages[4].Audibility.AliasingDisturbedPercent)
	if !reflect.DeepEqual(row.AliasingDisturbedPercent, worst) || *worst == 0 {
		t.Errorf("aliasing disturbs %v %%, want %v %%, the worse of the clips", row.AliasingDisturbedPercent, worst)
	}
}

// The values are the numbers that one would write, the last one included.
func TestValuesAreAsOneWouldWriteThem(t *testing.T) {
	p := &plan{}
	if err := p.span(Options{From: new(0.1), To: new(0.7), Step: new(0.1)}); err != nil {
		t.Fatal(err)
	}
	if want := []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7}; !slices.Equal(p.values, want) {
		t.Errorf("%v, want %v", p.values, want)
	}
}

// A survey that is cancelled says so.
func TestCancelled(t *testing.T) {
	r, err := release.Load("../../examples/night-ferry/release.toml")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := Run(ctx, r, Options{Set: "drive.gain_db", From: new(0.0), To: new(1.0),
		Step: new(1.0)}); err != context.Canceled {
		t.Errorf("%v, want that it was cancelled", err)
	}
}

// An interrupted survey has the values that were known by then, no answer for a track that has others left,
// and changes no file.
func TestInterruptedKeepsWhatIsKnown(t *testing.T) {
	r, err := release.Load("../../examples/night-ferry/release.toml")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	planned, done := int64(0), int64(0)
	o := Options{
		Set: "drive.gain_db", From: new(-9.0), To: new(0.0), Step: new(1.0), Tracks: []string{"01 quay"}, Jobs: 1,
		Progress: func(e Event) { // one at a time, with one job
			switch e.Step {
			case Begun:
				planned = e.Count
			case Advanced:
				if done += e.Count; done > planned/4 {
					cancel()
				}
			}
		},
	}
	s, errs, err := Run(ctx, r, o)
	if err != context.Canceled || len(errs) > 0 {
		t.Fatal(err, errs)
	}
	if n := s.Known(); !s.Interrupted || n < 2 || n > 3 {
		t.Errorf("interrupted: %v, %d values are known, want 2 or 3", s.Interrupted, n)
	}
	if s.Tracks[0].Answer != nil || s.Changes() != nil {
		t.Errorf("an answer, %v, of a survey that was not done", s.Tracks[0].Answer)
	}
}
