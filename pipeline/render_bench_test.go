package pipeline

import (
	"fmt"
	"testing"
	"time"

	"ledgerline/pipeline/audiofile"
)

// BenchmarkUpToDate is the answer to a render of 500 tracks of which nobody
// touched any: reading the release file, finding the mixes, and deciding.
func BenchmarkUpToDate(b *testing.B) {
	d := newDesk(b)
	d.write("release.toml", quickChain)
	for n := range 500 {
		d.mix(fmt.Sprintf("mixes/%03d.wav", n), audiofile.Info{Rate: 8000, Channels: 1, Frames: 100,
			Encoding: audiofile.PCM16}, tone(n))
	}
	d.render(Options{})
	time.Sleep(2 * 20 * time.Millisecond)
	d.render(Options{}) // what was written just before the end is looked at once more
	for b.Loop() {
		if out := d.render(Options{}); out.Results[499].State != Kept {
			b.Fatal(out.Results[499].State)
		}
	}
}

// BenchmarkChain renders ten seconds of stereo at 44.1 kHz with readings at
// every boundary, and tells how many times faster than it plays.
func BenchmarkChain(b *testing.B) {
	const seconds = 10
	for _, jobs := range []int{1, 2} {
		b.Run(fmt.Sprintf("jobs=%d", jobs), func(b *testing.B) {
			d := newDesk(b)
			d.write("release.toml", fullChain)
			d.mix("mixes/a.wav", stereo(seconds*44100), tone(1))
			b.ReportAllocs()
			begun := time.Now()
			for b.Loop() {
				d.render(Options{Jobs: jobs, Force: true})
			}
			b.ReportMetric(seconds*float64(b.N)/time.Since(begun).Seconds(), "x")
		})
	}
}

// fullChain has a stage of every kind.
const fullChain = `
sources      = ["mixes/*.wav"]
ceiling_dbfs = -1.0

[[stage]]
kind    = "gain"
gain_db = 4.0

[[stage]]
kind         = "hard_clip"
ceiling_dbfs = -0.5

[[stage]]
kind         = "oversampled_clip"
ceiling_dbfs = -1.0
factor       = 4

[[stage]]
kind         = "ceiling_hold"
ceiling_dbfs = -1.0

[[stage]]
kind = "dither"
bits = 24

[[stage]]
kind                 = "measure"
sample_peak_max_dbfs = -1.0
`
