package listen_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/listen"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

// A file of a disc that begins with the end of the track before it is heard beside the others at the same
// moment: it differs from the master by the rounding to 16 bits alone.
func TestAFileThatBeginsEarlierIsAligned(t *testing.T) {
	folder := t.TempDir()
	r := rand.New(rand.NewPCG(5, 6))
	frames := long.Or[int64](60, 150)*588 + 321
	for _, name := range []string{"01 quay", "02 pier"} {
		info := audiofile.Info{Rate: rate, Channels: 2, Frames: frames, Encoding: audiofile.Float32}
		if err := mixtest.Write(filepath.Join(folder, "mixes", name+".wav"), info,
			func(int, int64) float64 { return 0.1 * r.NormFloat64() }); err != nil {
			t.Fatal(err)
		}
	}
	const disc = "[[delivery]]\nname = \"disc\"\nencoding = \"pcm16\"\ndisc_frames = true\n"
	if err := os.WriteFile(filepath.Join(folder, "release.toml"), []byte("continuous = true\n"+text+disc),
		0o666); err != nil {
		t.Fatal(err)
	}
	rel, err := release.Load(filepath.Join(folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := pipeline.RenderRelease(context.Background(), rel, pipeline.Options{Tool: "ledgerline test"})
	if err != nil || out.Failed() > 0 {
		t.Fatal(err, out.Errors())
	}
	s := serveFolder(t, folder, func(o *listen.Options) { o.Deliveries = []string{"disc"} })
	v := s.view(1)
	own, other := -1, -1
	for k, x := range v.Sources {
		switch x.Name {
		case "own chain":
			own = k
		case "disc":
			other = k
		}
	}
	if own < 0 || other < 0 {
		t.Fatalf("%+v", v)
	}
	heard := s.heard(1, v)
	for c := range heard[own] {
		for i, x := range heard[own][c] {
			a := x / math.Pow(10, v.Sources[own].GainDB/20)
			b := heard[other][c][i] / math.Pow(10, v.Sources[other].GainDB/20)
			if math.Abs(a-b) > 1.01/(1<<16) {
				t.Fatalf("channel %d, frame %d: %v, the master has %v", c+1, i, b, a)
			}
		}
	}
}
