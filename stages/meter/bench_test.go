package meter

import (
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
)

// benchmarkSignals are 10 s of stereo at 44.1 kHz.
func benchmarkSignals() map[string]stages.Block {
	const rate, seconds = 44100, 10
	quiet, loud, rising := programme(rate, seconds, 1), programme(rate, seconds, 1), programme(rate, seconds, 1)
	quiet[0][0] = 1
	scale(quiet, 0.25)
	quiet[0][0] = 1

	scale(loud, 4)
	clip(loud, 0.9)

	for _, x := range rising {
		for i := range x {
			x[i] *= float64(i) / float64(len(x))
		}
	}
	noise := stages.NewBlock(2, rate*seconds)
	r := rand.New(rand.NewPCG(1, 2))
	for _, x := range noise {
		for i := range x {
			x[i] = 2*r.Float64() - 1
		}
	}
	tones := stages.NewBlock(2, rate*seconds)
	for _, x := range tones {
		tone(x, 0.9, 1000./rate, 0)
	}
	return map[string]stages.Block{"quiet": quiet, "mix": programme(rate, seconds, 1), "loud": loud, "rising": rising, "noise": noise, "tone": tones}
}

func BenchmarkMeter(b *testing.B) {
	signals := benchmarkSignals()
	for _, name := range []string{"quiet", "mix", "loud", "rising", "tone", "noise"} {
		signal := signals[name]
		b.Run(name, func(b *testing.B) {
			const block = 4096
			m := New(Options{Rate: 44100, Weights: ones(2), Ceiling: 0.95})
			at := 0
			b.ReportAllocs()
			b.SetBytes(2 * 8 * block)
			for b.Loop() {
				if at+block > signal.Frames() {
					at = 0
					m = New(Options{Rate: 44100, Weights: ones(2), Ceiling: 0.95})
				}
				m.Write(signal.Slice(at, at+block))
				at += block
			}
			perFrame := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / block
			b.ReportMetric(perFrame, "ns/frame")
			b.ReportMetric(1e9/44100/perFrame, "times-real-time")
		})
	}
}
