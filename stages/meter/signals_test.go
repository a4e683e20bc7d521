package meter

import (
	"math"
	"math/rand/v2"

	"ledgerline/stages"
)

// tone adds a sine to x: amplitude, frequency in cycles a frame, phase at x[0]
// in radians. Every 4096 frames the recurrence starts afresh, so that it stays
// within 1e-12 of the sine.
func tone(x []float64, amplitude, frequency, phase float64) {
	turn := 2 * math.Cos(2*math.Pi*frequency)
	for from := 0; from < len(x); from += 4096 {
		at := func(n int) float64 { return amplitude * math.Sin(2*math.Pi*frequency*float64(n)+phase) }
		a, b := at(from-2), at(from-1)
		part := x[from:min(len(x), from+4096)]
		for i := range part {
			a, b = b, turn*b-a
			part[i] += b
		}
	}
}

// fade ramps the first and last n samples of x up and down.
func fade(x []float64, n int) {
	for i := range n {
		g := 0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(n))
		x[i] *= g
		x[len(x)-1-i] *= g
	}
}

// programme is an invented piece for two channels: chords under struck
// percussion, normalised to a sample peak of 1. No part is silent but the
// first hundredth of a second.
func programme(rate int, seconds float64, seed uint64) stages.Block {
	r := rand.New(rand.NewPCG(seed, 1))
	b := stages.NewBlock(2, int(seconds*float64(rate)))
	frames := b.Frames()
	beat := rate * 60 / 112 / 2
	for at := rate / 100; at < frames; at += beat {
		strike(b, at, rate, r)
	}
	for at := rate / 100; at < frames; at += 4 * beat {
		root := 55 * math.Exp2(float64(r.IntN(12))/12)
		for _, interval := range []float64{1, 2, 2.5, 3, 4, 6, 10} {
			for c := range b {
				note := b[c][at:min(frames, at+4*beat)]
				tone(note, 0.3/interval, root*interval/float64(rate), 6*r.Float64())
			}
		}
	}
	normalise(b)
	return b
}

// strike adds a drum or a hiss: a falling tone and noise, both dying away.
func strike(b stages.Block, at, rate int, r *rand.Rand) {
	pitch, hiss, pan := 60+300*r.Float64(), r.Float64(), r.Float64()
	length := min(rate/4, b.Frames()-at)
	for i := range length {
		s := float64(i) / float64(rate)
		v := math.Sin(2*math.Pi*pitch*(s+0.01*(1-math.Exp(-s*60))))*math.Exp(-s*18) +
			hiss*r.NormFloat64()*0.5*math.Exp(-s*50)
		b[0][at+i] += 1.5 * v * pan
		b[1][at+i] += 1.5 * v * (1 - pan)
	}
}

func normalise(b stages.Block) {
	var top float64
	for _, x := range b {
		for _, v := range x {
			top = max(top, math.Abs(v))
		}
	}
	scale(b, 1/top)
}

func scale(b stages.Block, gain float64) {
	for _, x := range b {
		for i := range x {
			x[i] *= gain
		}
	}
}

func clip(b stages.Block, ceiling float64) {
	for _, x := range b {
		for i, v := range x {
			x[i] = max(-ceiling, min(ceiling, v))
		}
	}
}

// read is the reading of a whole signal, written at once.
func read(o Options, b stages.Block) Reading {
	m := New(o)
	m.Write(b)
	return m.Reading()
}

func ones(n int) []float64 { return Weights(n, 0) }
