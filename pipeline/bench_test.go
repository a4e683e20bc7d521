package pipeline

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

const benchSeconds = 10

// BenchmarkPeerChain renders ten seconds of music through the chain that
// testdata/peer composes from C libraries, with readings at every boundary, and tells how
// many times faster than it plays.
func BenchmarkPeerChain(b *testing.B) {
	text, err := os.ReadFile("../testdata/peer/release.toml")
	if err != nil {
		b.Fatal(err)
	}
	for _, size := range []struct{ tracks, jobs int }{{1, 1}, {1, 2}, {4, 1}, {4, 2}} {
		b.Run(fmt.Sprintf("tracks=%d/jobs=%d", size.tracks, size.jobs), func(b *testing.B) {
			benchmarkRender(b, string(text), size.tracks, size.jobs)
		})
	}
}

// BenchmarkBoundaries is what one more boundary costs: its stage, a gain of
// 0 dB, hands on every bit, so that all boundaries read the same.
func BenchmarkBoundaries(b *testing.B) {
	for _, stages := range []int{1, 4, 16} {
		b.Run(fmt.Sprint(stages+1), func(b *testing.B) {
			text := "sources = [\"mixes/*.wav\"]\n" +
				strings.Repeat("[[stage]]\nkind = \"gain\"\ngain_db = 0.0\n", stages)
			benchmarkRender(b, text, 1, 1)
			perFrame := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / (benchSeconds * 44100)
			b.ReportMetric(perFrame/float64(stages+1), "ns/frame/boundary")
		})
	}
}

// benchmarkRender renders that many tracks of music, all of the same bytes.
func benchmarkRender(b *testing.B, release string, tracks, jobs int) {
	d, music := newDesk(b), readMusic(b)
	d.write("release.toml", release)
	for n := range tracks {
		d.mix(fmt.Sprintf("mixes/%d.wav", n), stereo(benchSeconds*44100), func(c int, frame int64) float64 {
			return music[c][frame]
		})
	}
	b.SetBytes(int64(tracks * benchSeconds * 44100 * 2 * 3))
	b.ReportAllocs()
	for b.Loop() {
		d.render(Options{Jobs: jobs, Force: true})
	}
	b.ReportMetric(float64(tracks*benchSeconds*b.N)/b.Elapsed().Seconds(), "times-real-time")
}

// readMusic is the first ten seconds of two of the example's mixes, one after the other.
func readMusic(b *testing.B) stages.Block {
	music := stages.NewBlock(2, benchSeconds*44100)
	at := 0
	for _, name := range []string{"02 breakwater", "01 quay"} {
		r, err := audiofile.Open("../examples/night-ferry/mixes/" + name + ".wav")
		if err != nil {
			b.Fatal(err)
		}
		n, err := r.Read(music.Slice(at, music.Frames()))
		if err != nil && !errors.Is(err, io.EOF) {
			b.Fatal(err)
		}
		r.Close()
		at += n
	}
	if at != music.Frames() {
		b.Fatalf("%d frames of music, want %d", at, music.Frames())
	}
	return music
}
