package meter

import (
	"fmt"
	"math"
	"testing"

	"ledgerline/stages"
)

// TestBS1770Taps holds the filter to the table that ITU-R BS.1770-5 prints, to the last digit, and to what
// follows from it: multiples of 2^-13, a symmetric prototype, gains at DC and sums of magnitudes as worked
// out from the printed table apart from this program.
func TestBS1770Taps(t *testing.T) {
	f := bs1770()
	if len(f.phases) != 4 {
		t.Fatalf("%d phases", len(f.phases))
	}
	for p, phase := range f.phases {
		dc := []float64{1.001587, 0.973022, 0.973022, 1.001587}[p]
		gain := []float64{1.434, 2.023, 2.023, 1.434}[p]
		sum, magnitudes := 0.0, 0.0
		for i, h := range phase.taps {
			if want := annex2[11-i][p]; h != want {
				t.Errorf("phase %d, tap %d: %v, want %v", p, i, h, want)
			}
			if v := h * (1 << 13); v != math.Trunc(v) {
				t.Errorf("phase %d, tap %d: %v is no multiple of 2^-13", p, i, h)
			}
			if mirrored := f.phases[3-p].taps[11-i]; h != mirrored {
				t.Errorf("phase %d, tap %d: %v, its mirror image %v", p, i, h, mirrored)
			}
			sum += h
			magnitudes += math.Abs(h)
		}
		near(t, fmt.Sprintf("phase %d at DC", p), sum, dc, 5e-7)
		near(t, fmt.Sprintf("phase %d, magnitudes", p), magnitudes, gain, 5e-4)
		near(t, fmt.Sprintf("phase %d, gain", p), phase.gain, magnitudes, 1e-12)
	}
}

// TestShortEBU3341: EBU Tech 3341 v4, Table 1, cases 15 to 19, which allows +0.2 and -0.4 dB about -6.0
// and +3.0, for tones of the printed amplitudes. What the recommendation's filter gives on them at 48 kHz,
// when they fade along straight lines of 10 ms, was worked out apart from this program, to a thousandth of a
// decibel.
func TestShortEBU3341(t *testing.T) {
	for _, c := range []struct {
		number              int
		f, amplitude, phase float64
		want, bs1770        float64
	}{
		{15, 1. / 4, 0.50, 0, -6.0, -6.217},
		{16, 1. / 4, 0.50, 45, -6.0, -5.976},
		{17, 1. / 6, 0.50, 60, -6.0, -6.313},
		{18, 1. / 8, 0.50, 67.5, -6.0, -6.026},
		{19, 1. / 4, 1.41, 45, 3.0, 3.029},
	} {
		for _, rate := range []int{44100, 48000, 88200} {
			x := make([]float64, rate/5)
			tone(x, c.amplitude, c.f, c.phase*math.Pi/180)
			for i := range rate / 100 {
				g := float64(i) / float64(rate/100)
				x[i] *= g
				x[len(x)-1-i] *= g
			}
			b := stages.Block{x, x}
			bs, sinc := NewBS1770(2), NewSinc49(rate, 2)
			bs.Write(b)
			sinc.Write(b)
			if rate == 48000 {
				near(t, fmt.Sprintf("case %d, bs1770", c.number), db(bs.Peak()), c.bs1770, 0.0006)
			}
			for name, got := range map[string]float64{"bs1770": db(bs.Peak()), "sinc49": db(sinc.Peak())} {
				if d := got - c.want; d > 0.2 || d < -0.4 {
					t.Errorf("case %d at %d Hz, %s: %.4f dBTP, want %.1f +0.2/-0.4", c.number, rate, name, got, c.want)
				}
			}
		}
	}
}

// TestBS1770Gain: the filter's gain for a tone, over the phases of many frames, is what is published of it:
// a ripple of -0.111 to +0.101 dB up to 20 kHz at 48 kHz, and -6.18 dB at 24 kHz less a hair. At the top the
// image is as large as the tone, so what is read there is their sum.
func TestBS1770Gain(t *testing.T) {
	f := bs1770()
	gain := func(hertz float64) float64 {
		var re, im float64 // of the prototype at 192 kHz
		for p, phase := range f.phases {
			for i, h := range phase.taps {
				n := float64(4*(11-i) + p)
				s, c := math.Sincos(2 * math.Pi * hertz / 192000 * n)
				re += h * c / 4
				im -= h * s / 4
			}
		}
		return db(math.Hypot(re, im))
	}
	lowest, highest := math.Inf(1), math.Inf(-1)
	for hertz := 0.; hertz <= 20000; hertz += 10 {
		lowest, highest = min(lowest, gain(hertz)), max(highest, gain(hertz))
	}
	near(t, "lowest to 20 kHz", lowest, -0.111, 0.001)
	near(t, "highest to 20 kHz", highest, 0.101, 0.001)
	near(t, "21.6 kHz", gain(21600), -1.26, 0.006)
	near(t, "24 kHz", gain(24000), -6.18, 0.006)
}
