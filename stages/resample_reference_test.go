//go:build reference

package stages_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/fourier"
	"ledgerline/stages/internal/soxr"
)

// TestResampleAgainstSoxr: white noise at another rate, beside what libsoxr's finest recipe makes of it. The
// two differ above the pass band, where neither has to pass anything.
func TestResampleAgainstSoxr(t *testing.T) {
	const n = 1 << 16
	plan := fourier.NewReal(n)
	for _, r := range changes {
		up, down, err := stages.Ratio(r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		lower := min(r[0], r[1])
		random := rand.New(rand.NewPCG(uint64(r[0]), uint64(r[1])))
		x := make([]float64, down*((n+2*far*r[1]/lower)/up+1))
		for i := range x {
			x[i] = random.Float64() - 0.5
		}
		want, err := soxr.Resample(x, up, down)
		if err != nil {
			t.Fatal(err)
		}
		got := resampled(t, x, r[0], r[1])
		from := far * r[1] / lower
		d := make([]float64, n)
		for i := range d {
			d[i] = got[from+i] - want[from+i]
		}
		pass := 20000.0 / 44100 * float64(lower) / float64(r[1]) // in cycles a frame
		residue := bandPower(plan, d, pass) - bandPower(plan, want[from:from+n], pass)
		t.Logf("%d to %d: %.1f dB", r[0], r[1], residue)
		if residue > -140 {
			t.Errorf("%d to %d: the residue in the pass band is %.1f dB, want -140 or less", r[0], r[1], residue)
		}
	}
}

// BenchmarkResampleBySoxr is what BenchmarkResample measures, by libsoxr, with what it needs to begin.
func BenchmarkResampleBySoxr(b *testing.B) {
	for _, r := range benchChanges {
		b.Run(fmt.Sprint(r[0], " to ", r[1]), func(b *testing.B) {
			up, down, err := stages.Ratio(r[0], r[1])
			if err != nil {
				b.Fatal(err)
			}
			x := sineAt(20*r[0]/down*down, r[0], 997)
			for b.Loop() {
				if _, err := soxr.Resample(x, up, down); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed())/float64(b.N*len(x)), "ns/sample")
		})
	}
}

// bandPower is the power of x up to a frequency in cycles a frame, dB, under a window.
func bandPower(plan *fourier.Real, x []float64, edge float64) float64 {
	y, n := make([]float64, len(x)), len(x)
	for i, v := range x {
		y[i] = v * window7(i, n)
	}
	re, im := make([]float64, n/2+1), make([]float64, n/2+1)
	plan.Forward(re, im, y)
	sum := 0.0
	for k := range int(edge * float64(n)) {
		sum += re[k]*re[k] + im[k]*im[k]
	}
	return 10 * math.Log10(sum)
}
