package pipeline

import (
	"fmt"
	"testing"
	"time"

	"ledgerline/pipeline/audiofile"
)

// BenchmarkUpToDate is the answer to a render of tracks of which nobody touched any: reading the release
// file, finding the mixes, and deciding, from the whole ledger and from the ledger in brief.
func BenchmarkUpToDate(whole *testing.B) {
	for _, tracks := range []int{50, 500, 5000} {
		var d *desk
		for _, brief := range []bool{false, true} {
			whole.Run(fmt.Sprintf("tracks=%d/brief=%v", tracks, brief), func(b *testing.B) {
				if d == nil {
					d = newDesk(whole)
					d.upToDate(tracks)
				}
				b.ReportAllocs()
				for b.Loop() {
					out := d.render(Options{Brief: brief})
					if out.Results[tracks-1].State != Kept || (out.Ledger == nil) != brief {
						b.Fatal(out.Results[tracks-1].State, out.Ledger == nil)
					}
				}
			})
		}
	}
}

// upToDate makes that many small tracks and renders them.
func (d *desk) upToDate(tracks int) {
	d.write("release.toml", quickChain)
	info := audiofile.Info{Rate: 8000, Channels: 1, Frames: 100, Encoding: audiofile.PCM16}
	for n := range tracks {
		d.mix(fmt.Sprintf("mixes/%04d.wav", n), info, tone(n))
	}
	d.render(Options{})
	time.Sleep(2 * 20 * time.Millisecond)
	d.render(Options{}) // what was written just before the end is looked at once more
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
