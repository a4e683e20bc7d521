package survey

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// surveyedAndRendered is what a survey of one value of drive.gain_db, and a render, know of a mix. The
// release file has that value too.
func surveyedAndRendered(t *testing.T, info audiofile.Info, wave func(c int, n int64) float64, text string,
	gainDB float64) (Row, ledger.Track) {
	t.Helper()
	folder := t.TempDir()
	if err := mixtest.Write(filepath.Join(folder, "mixes", "reef.wav"), info, wave); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, "release.toml")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	r, err := release.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	s, errs, err := Run(context.Background(), r, Options{
		Set: "drive.gain_db", From: new(gainDB), To: new(gainDB), Step: new(1.0),
	})
	if err != nil || len(errs) > 0 {
		t.Fatal(err, errs)
	}
	out, err := pipeline.RenderRelease(context.Background(), r, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s.Tracks[0].Rows[0], out.Ledger.Tracks[0]
}
