package main

import "math"

// decay is an envelope that starts at 1 and falls by 60 dB in a given time.
type decay struct{ level, factor float64 }

func falling(seconds float64) decay {
	return decay{1, exp(-3 * math.Ln10 / float64(seconds*rate))}
}

func (d *decay) next() float64 {
	level := d.level
	d.level = float64(level * d.factor)
	return level
}

// filter is a state-variable filter of second order, integrated by the
// trapezoidal rule so that its corner may move from sample to sample.
type filter struct{ damping, a, b, c, s1, s2 float64 }

// newFilter has its corner at a frequency in Hz and a resonance of q: 0.7 is
// flat, more of it rings.
func newFilter(corner, q float64) *filter {
	f := &filter{damping: 1 / q}
	f.tune(corner)
	return f
}

func (f *filter) tune(corner float64) {
	turns := corner / (2 * rate)
	g := sine(turns) / sine(turns+0.25)
	f.a = 1 / (1 + float64(g*(g+f.damping)))
	f.b = float64(g * f.a)
	f.c = float64(g * f.b)
}

// next takes one sample and returns what is below, around and above the corner.
func (f *filter) next(x float64) (low, band, high float64) {
	x = float64(x)
	d := x - f.s2
	band = float64(f.a*f.s1) + float64(f.b*d)
	low = f.s2 + float64(f.b*f.s1) + float64(f.c*d)
	f.s1 = band + band - f.s1
	f.s2 = low + low - f.s2
	return low, band, x - float64(f.damping*band) - low
}

func (f *filter) low(x float64) float64 {
	low, _, _ := f.next(x)
	return low
}

func (f *filter) high(x float64) float64 {
	_, _, high := f.next(x)
	return high
}

// soft bends a sample towards -1..1 as a tape or a tube does. It is the first
// steps of the hyperbolic tangent's continued fraction, which reach 1 at 3.
func soft(x float64) float64 {
	x = min(max(x, -3), 3)
	sq := float64(x * x)
	return float64(x*(27+sq)) / (27 + float64(9*sq))
}

// bandLimit removes what is above 20 kHz and leaves what is below 18 kHz:
// a windowed sine cardinal with its corner at 19 kHz, of no delay.
func bandLimit(x []float64) {
	const half = 64
	var taps [half + 1]float64
	taps[0] = 2 * 19000.0 / rate
	for n := 1; n <= half; n++ {
		turns := float64(n) / (2 * (half + 1))
		blackman := 0.42 + float64(0.5*sine(turns+0.25)) + float64(0.08*sine(2*turns+0.25))
		taps[n] = float64(blackman*sine(19000.0/rate*float64(n))) / (math.Pi * float64(n))
	}
	in := make([]float64, len(x)+2*half)
	copy(in[half:], x)
	for i := range x {
		w := in[i : i+2*half+1]
		y := float64(taps[0] * w[half])
		for n := 1; n <= half; n++ {
			y += float64(taps[n] * (w[half-n] + w[half+n]))
		}
		x[i] = y
	}
}
