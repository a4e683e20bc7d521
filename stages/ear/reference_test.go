package ear

import (
	"math"
	"testing"
)

// Signals of the end-to-end check: 150000 frames of 48 kHz.
const checkFrames = 150000

func checkSignal(f func(n int, t float64) float64) []float64 {
	x := make([]float64, checkFrames)
	for n := range x {
		x[n] = f(n, float64(n)/48000)
	}
	return x
}

func sine(hz, t float64) float64 { return math.Sin(2 * math.Pi * hz * t) }

// noiseSamples are the values of the 32-bit generator u <- 1664525 u + 1013904223 from 1 on, u/2^31 - 1 after
// each step.
func noiseSamples() []float64 {
	u := uint32(1)
	return checkSignal(func(int, float64) float64 {
		u = 1664525*u + 1013904223
		return float64(u)/(1<<31) - 1
	})
}

func chord(_ int, t float64) float64 {
	return 0.45*sine(220, t) + 0.3*sine(1244.5, t) + 0.2*sine(4978, t)
}

func hits() []float64 {
	s := noiseSamples()
	return checkSignal(func(n int, t float64) float64 {
		return 0.8*s[n]*math.Exp(-float64(n%12000)/480) + 0.05*sine(440, t)
	})
}

// as16Bits rounds to 16 bits, halves to even.
func as16Bits(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.RoundToEven(v*32768) / 32768
	}
	return y
}

func each(x []float64, f func(float64) float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = f(v)
	}
	return y
}

func clamp(to float64) func(float64) float64 {
	return func(v float64) float64 { return max(-to, min(to, v)) }
}

func half(v float64) float64 { return 0.5 * v }

func plus(x, y []float64, by float64) []float64 {
	z := make([]float64, len(x))
	for i := range z {
		z[i] = x[i] + by*y[i]
	}
	return z
}

// TestNoise16Bits holds the generator against its first values as 16-bit integers.
func TestNoise16Bits(t *testing.T) {
	x := as16Bits(each(noiseSamples(), half))
	for i, want := range []float64{-8636, -4284, 139, 6714} {
		if got := x[i] * 32768; got != want {
			t.Errorf("sample %d is %v, not %v", i, got, want)
		}
	}
}

// TestEndToEnd holds total noise to mask and the disturbed share against GstPEAQ, an independent
// implementation (M. Holters, U. Zoelzer, "GstPEAQ - an open source implementation of the PEAQ algorithm",
// DAFx-15, Trondheim 2015), run on the same signals: its figures are printed with six places. 146 windows.
func TestEndToEnd(t *testing.T) {
	c, s, h := checkSignal(chord), noiseSamples(), hits()
	tone := checkSignal(func(_ int, t float64) float64 { return 0.1 * sine(1000, t) })
	for _, e := range []struct {
		name             string
		before, after    []float64
		noise, disturbed float64
	}{
		{"chord, clamp 0.6", c, each(c, clamp(0.6)), 30.723228, 1},
		{"chord, clamp 0.9", c, each(c, clamp(0.9)), -2.885565, 0.993151},
		{"chord x 0.9", c, each(c, func(v float64) float64 { return 0.9 * v }), -18.841020, 0},
		{"noise, clamp 0.4", each(s, half), each(each(s, half), clamp(0.4)), -21.209420, 0},
		{"hits, clamp 0.4", h, each(h, clamp(0.4)), -19.778088, 0.013699},
		{"hits, clamp 0.2", h, each(h, clamp(0.2)), -12.718058, 0.068493},
		{"tone and noise", tone, plus(tone, s, 0.001), 12.688196, 1},
	} {
		r := NewReader(Options{Rate: 48000, Channels: 1})
		r.Write(block{as16Bits(e.before)}, block{as16Bits(e.after)})
		got, ok := r.Reading(0)
		if !ok || got.Windows != 146 {
			t.Errorf("%s: %d windows", e.name, got.Windows)
		}
		t.Logf("%s: %.6f %.6f", e.name, got.NoiseToMask.Value, got.Disturbed.Value/100)
		if d := math.Abs(got.NoiseToMask.Value - e.noise); !(d <= 1e-4) {
			t.Errorf("%s: noise to mask %.6f dB, not %.6f", e.name, got.NoiseToMask.Value, e.noise)
		}
		if d := math.Abs(got.Disturbed.Value/100 - e.disturbed); !(d <= 1e-6) {
			t.Errorf("%s: disturbed %.6f, not %.6f", e.name, got.Disturbed.Value/100, e.disturbed)
		}
	}
}
