// Long writes a release of one long mix, to measure how memory and time grow
// with length:
//
//	go run ./testdata/long --folder /tmp/long                  # an hour of stereo 96 kHz float32, 2.8 GB
//	go run ./testdata/long --folder /tmp/long --seconds 300 --rate 44100 --encoding pcm24
//
// The mix repeats ten seconds of struck notes over a bass and noise. Driven as its
// release file says, about 3 % of its samples pass the ceiling.
package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
)

const release = `title        = "Long"
sources      = ["long.wav"]
ceiling_dbfs = -1.0

[[stage]]
kind    = "gain"
name    = "drive"
gain_db = 5.0

[[stage]]
kind         = "oversampled_clip"
name         = "clip"
ceiling_dbfs = -1.0

[[stage]]
kind         = "ceiling_hold"
name         = "hold"
ceiling_dbfs = -1.0

[[stage]]
kind         = "dither"
bits         = 24
ceiling_dbfs = -1.0

[[stage]]
kind                 = "measure"
name                 = "delivery"
sample_peak_max_dbfs = -1.0
`

func main() {
	folder := flag.String("folder", "", "where the release is written")
	seconds := flag.Int("seconds", 3600, "the length of the mix")
	rate := flag.Int("rate", 96000, "its sample rate, Hz")
	encoding := flag.String("encoding", "float32", "its encoding: pcm16 pcm24 pcm32 float32 float64")
	flag.Parse()
	if *folder == "" || *seconds < 1 || flag.NArg() > 0 {
		fmt.Fprintln(os.Stderr, "long: error: want --folder DIR, and --seconds of 1 or more")
		os.Exit(2)
	}
	if err := write(*folder, *seconds, *rate, audiofile.Encoding(*encoding)); err != nil {
		fmt.Fprintln(os.Stderr, "long: error:", err)
		os.Exit(1)
	}
}

func write(folder string, seconds, rate int, encoding audiofile.Encoding) error {
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return err
	}
	w, err := audiofile.Create(filepath.Join(folder, "long.wav"), audiofile.Info{
		Rate: rate, Channels: 2, Frames: int64(seconds * rate), Encoding: encoding,
	})
	if err != nil {
		return err
	}
	defer w.Abort()
	loop := newLoop(rate)
	for left := seconds * rate; left > 0; left -= loop.Frames() {
		if err := w.Write(loop.Slice(0, min(left, loop.Frames()))); err != nil {
			return err
		}
	}
	if err := w.Commit(); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, "release.toml"), []byte(release), 0o666)
}

// newLoop is ten seconds: forty struck notes, a bass, and noise.
func newLoop(rate int) stages.Block {
	b := stages.NewBlock(2, 10*rate)
	random := rand.New(rand.NewPCG(1, 2))
	for c := range b {
		for i := range b[c] {
			t := float64(i) / float64(rate)
			b[c][i] = 0.2*math.Sin(2*math.Pi*55*t) + 0.03*random.NormFloat64()
		}
	}
	for note := range 40 {
		from, hz := note*rate/4, 110*math.Pow(2, float64(random.IntN(36))/12)
		for i := range rate / 4 {
			t := float64(i) / float64(rate)
			v := 0.52 * math.Exp(-9*t) * (math.Sin(2*math.Pi*hz*t) + 0.5*math.Sin(2*math.Pi*2.76*hz*t))
			b[note%2][from+i] += v
			b[1-note%2][from+i] += 0.7 * v
		}
	}
	for c := range b { // -1 dBFS at most
		for i, v := range b[c] {
			b[c][i] = min(max(v, -0.89), 0.89)
		}
	}
	return b
}
