package meter

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
)

const (
	benchRate    = 44100
	benchSeconds = 10
)

// benchSignals are 10 s of stereo at 44.1 kHz, in the order of what finding
// their true peak costs.
func benchSignals() (names []string, signals []stages.Block) {
	add := func(name string, change func(b stages.Block)) {
		b := programme(benchRate, benchSeconds, 1)
		change(b)
		names, signals = append(names, name), append(signals, b)
	}
	add("quiet", func(b stages.Block) { // 12 dB below one peak at the start
		scale(b, 0.25)
		b[0][0] = 1
	})
	add("mix", func(b stages.Block) {})
	add("rising", func(b stages.Block) {
		for _, x := range b {
			for i := range x {
				x[i] *= float64(i) / float64(len(x))
			}
		}
	})
	add("loud", func(b stages.Block) { // driven 12 dB into a hard clip
		scale(b, 4)
		clip(b, 0.9)
	})
	add("tone", func(b stages.Block) { // as loud as its loudest all the time
		for _, x := range b {
			clear(x)
			tone(x, 0.9, 1000./benchRate, 0)
		}
	})
	add("noise", func(b stages.Block) {
		for c := range b {
			b[c] = noise(len(b[c]), uint64(c))
		}
	})
	return names, signals
}

func BenchmarkMeter(b *testing.B) {
	names, signals := benchSignals()
	for i, name := range names {
		b.Run(name, func(b *testing.B) {
			const block = 4096
			signal := signals[i]
			fresh := func() *Meter { return New(Options{Rate: benchRate, Weights: ones(2), Ceiling: 0.95}) }
			m, at := fresh(), 0
			b.ReportAllocs()
			b.SetBytes(2 * 8 * block)
			for b.Loop() {
				if at+block > signal.Frames() {
					m, at = fresh(), 0
				}
				m.Write(signal.Slice(at, at+block))
				at += block
			}
			perFrame := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / block
			b.ReportMetric(perFrame, "ns/frame")
			b.ReportMetric(1e9/benchRate/perFrame, "times-real-time")
		})
	}
}

// BenchmarkShortMeter is what one reading by a short filter costs.
func BenchmarkShortMeter(b *testing.B) {
	const block = 4096
	names, signals := benchSignals()
	for i, name := range names {
		for _, c := range shortMeters(benchRate, 2) {
			b.Run(c.name+"/"+name, func(b *testing.B) {
				m, at := c.fresh(), 0
				b.ReportAllocs()
				for b.Loop() {
					if at+block > signals[i].Frames() {
						m, at = c.fresh(), 0
					}
					m.Write(signals[i].Slice(at, at+block))
					at += block
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/block, "ns/frame")
			})
		}
	}
}

func BenchmarkReading(b *testing.B) {
	m := New(Options{Rate: benchRate, Weights: ones(2)})
	m.Write(programme(benchRate, 300, 1))
	for b.Loop() {
		m.Reading()
	}
}

// BenchmarkRemoval is what one stage costs: of music of which nothing is clipped, or so
// much as the level says.
func BenchmarkRemoval(b *testing.B) {
	for _, level := range []float64{0.1, 1, 4} {
		b.Run(fmt.Sprint(level), func(b *testing.B) {
			r := NewRemoval(RemovalOptions{Rate: 44100, Channels: 2, Ceiling: 1})
			x := stages.NewBlock(2, 1<<16)
			for c := range x {
				for i := range x[c] {
					s, f := math.Sincos(float64(i) / float64(9+3*c))
					x[c][i] = level * (s + 0.5*f*f*math.Sin(float64(i)/7919))
				}
			}
			y := clipped(x, 1)
			at := 0
			b.SetBytes(2 * 4096 * 8)
			for b.Loop() {
				r.Write(x.Slice(at, at+4096), y.Slice(at, at+4096))
				at = (at + 4096) % (1 << 16)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(2*4096), "ns/sample")
			b.ReportMetric(100*float64(r.clipped)/float64(r.frame*2), "%clipped")
		})
	}
}
