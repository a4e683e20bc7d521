package stages_test

import (
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Signals to clip: at 44.1 kHz, one channel, silent at both ends, so that what
// lies between the samples can be had from the spectrum of the whole.
func clipFrames() int { return long.Or(1<<14, 1<<16) }

// lowPassed is x without anything beyond hz.
func lowPassed(x []float64, hz float64) []float64 {
	fft := fourier.NewFFT(len(x))
	c := fft.Coefficients(nil, x)
	for k := range c {
		if float64(k)*44100 > hz*float64(len(x)) {
			c[k] = 0
		}
		c[k] /= complex(float64(len(x)), 0)
	}
	return fft.Sequence(x, c)
}

// gate fades in over frames from-200..from+200 and out around to.
func gate(n, from, to int) float64 {
	ramp := func(at float64) float64 {
		return 0.5 + 0.5*math.Sin(math.Pi/2*max(-1, min(1, at/200)))
	}
	return ramp(float64(n-from)) * ramp(float64(to-n))
}

// faded is x with smooth ends, in place.
func faded(x []float64) []float64 {
	for n := range x {
		x[n] *= gate(n, 2000, len(x)-2000)
	}
	return x
}

// noiseBursts are eight of noise that ends at hz, with smooth ends.
func noiseBursts(hz float64, seed uint64) []float64 { return noiseBurstsOf(clipFrames(), hz, seed) }

func noiseBurstsOf(frames int, hz float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, uint64(hz)))
	x := make([]float64, frames)
	for n := range x {
		x[n] = random.NormFloat64()
	}
	if hz < 22050 {
		x = lowPassed(x, hz)
	}
	for n := range x {
		x[n] *= gate(n%8192, 2000, 6000)
	}
	return x
}

// percussion is struck drums and hisses, up to 20 kHz.
func percussion() []float64 {
	random := rand.New(rand.NewPCG(11, 1))
	x := make([]float64, clipFrames())
	for at := 2000; at < clipFrames()-12000; at += 4000 + random.IntN(3000) {
		pitch, hiss := 60+600*random.Float64(), random.Float64()
		for n := range 10000 {
			s := float64(n) / 44100
			x[at+n] += math.Sin(2*math.Pi*pitch*(s+0.01*(1-math.Exp(-s*60))))*math.Exp(-s*30) +
				hiss*random.NormFloat64()*math.Exp(-s*60)
		}
	}
	return lowPassed(x, 20000)
}

// mix is a stretch of a channel of the example release, faded at both ends.
func mix(t testing.TB, name string, channel int) []float64 {
	t.Helper()
	x := wholeMix(t, name)[channel]
	return faded(x[len(x)/3:][:clipFrames()])
}

// wholeMix is a mix of the example release.
func wholeMix(t testing.TB, name string) stages.Block {
	t.Helper()
	r, err := audiofile.Open("../examples/night-ferry/mixes/" + name + ".wav")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	b := stages.NewBlock(r.Info().Channels, int(r.Info().Frames))
	for at := 0; at < b.Frames(); {
		n, err := r.Read(b.Slice(at, b.Frames()))
		if at += n; err != nil && err != io.EOF {
			t.Fatal(err)
		}
	}
	return b
}

// driven is x brought to a sample peak of that many dB, in place.
func driven(x []float64, db float64) []float64 {
	by := stages.Linear(db) / samplePeak(x)
	for n := range x {
		x[n] *= by
	}
	return x
}
