package main

import (
	"math"
	"testing"
)

// The truth is the library's own sine and exponential.
func TestSineAndExp(t *testing.T) {
	for i := -4000; i <= 4000; i++ {
		x := float64(i) / 997
		if got, want := sine(x), math.Sin(2*math.Pi*x); math.Abs(got-want) > 1e-9 {
			t.Fatalf("sine(%g) = %g, want %g", x, got, want)
		}
		if got, want := exp(2*x), math.Exp(2*x); math.Abs(got/want-1) > 1e-12 {
			t.Fatalf("exp(%g) = %g, want %g", 2*x, got, want)
		}
	}
}

// Equal temperament around A4 = 440 Hz (ISO 16); the figures are the common
// table's, from memory.
func TestHz(t *testing.T) {
	for note, want := range map[string]float64{
		"A4": 440, "A1": 55, "C4": 261.6256, "E2": 82.4069, "F#5": 739.9888, "Bb3": 233.0819, "D6": 1174.6591,
	} {
		if got := hz(note); math.Abs(got-want) > 1e-4 {
			t.Errorf("hz(%q) = %.5f, want %.4f", note, got, want)
		}
	}
}

// The first numbers of SplitMix64 from seed 1234567, a check value in common
// use, from memory.
func TestNoise(t *testing.T) {
	random := noise(1234567)
	for i, bits := range []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423} {
		if got, want := random.next(), float64(int64(bits)>>11)/(1<<52); got != want {
			t.Errorf("number %d is %g, want %g", i, got, want)
		}
	}
}

// What cannot be heard is removed, the rest stays.
func TestBandLimit(t *testing.T) {
	for _, c := range []struct{ hz, least, most float64 }{
		{100, -0.01, 0.01}, {10000, -0.01, 0.01}, {17500, -0.01, 0.01}, {20500, math.Inf(-1), -70},
		{21500, math.Inf(-1), -70},
	} {
		x := make([]float64, 8820)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * c.hz * float64(i) / rate)
		}
		bandLimit(x)
		sum := 0.0
		for _, y := range x[2205:6615] { // whole cycles of all of them
			sum += 2 * y * y / 4410
		}
		if db := 10 * math.Log10(sum); db < c.least || db > c.most {
			t.Errorf("%g Hz passes at %.3f dB, want %g to %g dB", c.hz, db, c.least, c.most)
		}
	}
}
