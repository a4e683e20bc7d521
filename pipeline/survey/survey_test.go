package survey

import (
	"context"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/release"
)

// Each value's figures are those that a render with that value has in its ledger: a render that knows of no survey.
func TestFiguresAreThoseOfARender(t *testing.T) {
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS("../../examples/night-ferry")); err != nil {
		t.Fatal(err)
	}
	r, err := release.Load(filepath.Join(folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	r.Output.Folder = filepath.Join(folder, "surveyed") // not where masters may be of whoever tried the command
	for i := range r.Renders {
		r.Renders[i].Output = filepath.Join(r.Output.Folder, r.Renders[i].Track+".wav")
	}
	o := Options{Set: "drive.gain_db", From: new(2.0), To: new(5.0), Step: new(1.0), Limits: []string{"disturbed_max_percent=1"}}
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
		if !reflect.DeepEqual(row.Whole, entry.Whole) || !reflect.DeepEqual(row.LoudnessLUFS, end.LoudnessLUFS) || !reflect.DeepEqual(row.TruePeakDBTP, end.TruePeakDBTP) {
			t.Errorf("%s at %v dB: %+v, want %+v", entry.Name, gain, row.Whole, entry.Whole)
		}
		if n := len(entry.Requirements); !reflect.DeepEqual(row.Requirements[:n], entry.Requirements) || len(row.Requirements) != n+1 {
			t.Errorf("%s at %v dB: requirements %+v, want %+v and the limit", entry.Name, gain, row.Requirements, entry.Requirements)
		}
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
	if _, _, err := Run(ctx, r, Options{Set: "drive.gain_db", From: new(0.0), To: new(1.0), Step: new(1.0)}); err != context.Canceled {
		t.Errorf("%v, want that it was cancelled", err)
	}
}
