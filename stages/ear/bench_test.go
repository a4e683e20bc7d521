//go:build unix

package ear

import (
	"syscall"
	"testing"
	"time"
)

// benchmark reads a second of stereo at a time, and reports how many times real time a core keeps up with, by
// the processor time that was spent.
func benchmark(b *testing.B, rate int, after func(float64) float64) {
	h := hits()
	x, y := h[:48000], h[100:48100]
	before := block{x, y}
	changed := block{each(x, after), each(y, after)}
	r := NewReader(Options{Rate: rate, Channels: 2})
	b.ReportAllocs()
	frames, from := 0, spent()
	for b.Loop() {
		r.Write(before, changed)
		frames += len(before[0])
	}
	b.ReportMetric(float64(frames)/float64(rate)/(spent()-from).Seconds(), "x-real-time")
}

func BenchmarkEveryWindow(b *testing.B) {
	benchmark(b, 48000, func(v float64) float64 { return 0.9 * v })
}
func BenchmarkEveryWindow96k(b *testing.B) {
	benchmark(b, 96000, func(v float64) float64 { return 0.9 * v })
}
func BenchmarkSomeWindows(b *testing.B)    { benchmark(b, 48000, clamp(0.4)) }
func BenchmarkNothingChanged(b *testing.B) { benchmark(b, 48000, clamp(1)) }

func BenchmarkSpread(b *testing.B) {
	m := model48()
	e, p, w := make([]float64, 109), make([]float64, 109), newSpreading(109)
	for i := range p {
		p[i] = 1e6 / float64(i+1)
	}
	for b.Loop() {
		m.slopes.spread(e, p, w)
	}
}

func BenchmarkAnalyse(b *testing.B) {
	m := model48()
	x, s, a := hits()[:2048], NewSpectrum(m), NewAnalyser(m)
	for b.Loop() {
		a.Analyse(s, x)
	}
}

// spent is the processor time that this process has taken.
func spent() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano())
}
