//go:build reference

package meter_test

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/release"
	"ledgerline/stages"
	"ledgerline/stages/meter/internal/ebur128"
)

// TestMastersReadBySinc49: what is held as sinc49 reads it, libebur128 reads within 0.001 dB of the ceiling,
// of the example as it is and driven further.
func TestMastersReadBySinc49(t *testing.T) {
	const ceilingDBTP = -1.0
	for _, driveDB := range []string{"", "9.0"} {
		for name, path := range masters(t, driveDB) {
			x := samplesOf(t, path)
			got := libraryPeak(t, x, 44100)
			t.Logf("drive %s, %s: %.4f dBTP", driveDB, name, got)
			if got > ceilingDBTP+0.001 {
				t.Errorf("drive %s: %s reads %.4f dBTP, over %g", driveDB, name, got, ceilingDBTP)
			}
			// A hold that aims far too low keeps any ceiling. A repeat may lower it by more than was missing.
			if got < ceilingDBTP-0.05 {
				t.Errorf("drive %s: %s reads only %.4f dBTP", driveDB, name, got)
			}
		}
	}
}

// masters renders the example with a hold read by sinc49, and with another drive where one is given: the
// paths of its masters by track.
func masters(t *testing.T, driveDB string) map[string]string {
	t.Helper()
	folder := t.TempDir()
	must(t, foldertest.CopyExample(folder, "../../examples/night-ferry"))
	file := filepath.Join(folder, "release.toml")
	text, err := os.ReadFile(file)
	must(t, err)
	edit := func(pattern, by string) {
		re := regexp.MustCompile(pattern)
		if !re.Match(text) {
			t.Fatalf("the example has no %s", pattern)
		}
		text = re.ReplaceAll(text, []byte(by))
	}
	edit(`(?m)^read_by .*$`, `read_by = ["sinc49"]`)
	if driveDB != "" {
		edit(`gain_db( *)= .*`, "gain_db = "+driveDB)
	}
	must(t, os.WriteFile(file, text, 0o666))
	r, err := release.Load(file)
	must(t, err)
	out, err := pipeline.RenderRelease(context.Background(), r, pipeline.Options{})
	must(t, err)
	paths := map[string]string{}
	for i, result := range out.Results {
		must(t, result.Err)
		if result.Delivery != "" || result.Variant != "" {
			continue
		}
		paths[result.Track] = r.Renders[i].Output
	}
	if len(paths) != 3 {
		t.Fatalf("%d masters, want three", len(paths))
	}
	return paths
}

func samplesOf(t *testing.T, path string) stages.Block {
	t.Helper()
	r, err := audiofile.Open(path)
	must(t, err)
	defer r.Close()
	b := stages.NewBlock(r.Info().Channels, int(r.Info().Frames))
	if n, _ := r.Read(b); n != b.Frames() {
		t.Fatalf("%s: read %d frames of %d", path, n, b.Frames())
	}
	return b
}

// libraryPeak is the true peak that libebur128 finds, dBTP, fed the silence after the last frame too.
func libraryPeak(t *testing.T, b stages.Block, rate int) float64 {
	t.Helper()
	s, err := ebur128.Open(len(b), rate)
	must(t, err)
	defer s.Close()
	frames := make([]float64, (b.Frames()+24)*len(b))
	for c := range b {
		for i, v := range b[c] {
			frames[i*len(b)+c] = v
		}
	}
	must(t, s.Add(frames))
	peak := 0.0
	for c := range b {
		v, err := s.TruePeak(c)
		must(t, err)
		peak = max(peak, v)
	}
	return stages.DB(peak)
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
