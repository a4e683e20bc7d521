package bandlimit

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// Frequencies are in cycles a frame; at 44.1 kHz kHz(20) is 20 kHz.
func kHz(f float64) float64 { return f / 44.1 }

func dB(x float64) float64 { return 20 * math.Log10(math.Abs(x)) }

// gain is the response of doubling the rate from 2^level times the track's to
// the next, at f cycles a frame of the track: the new samples and the old ones
// count half each.
func (h halfBand) gain(f float64, level int) float64 {
	g := 0.5
	for k, c := range h {
		g += c * math.Cos(2*math.Pi*f*(float64(k)+0.5)/float64(int(1)<<level))
	}
	return g
}

// gain is the response of all doublings, one after the other.
func (c Cascade) gain(f float64) float64 {
	g := 1.0
	for l, d := range c {
		g *= d.gain(f, l)
	}
	return g
}

// A design is a cascade and what is claimed of it: a band up to an edge, in cycles a frame, is flat and
// its images are rejected, in dB.
type design struct {
	name string
	Cascade
	edge, flat, images float64
}

var (
	steep   = design{"steep", Steep, kHz(21), 1e-6, -140}
	clean   = design{"clean", Clean, kHz(20), 1e-6, -140}
	designs = []design{steep, clean}
)

// worst is the largest of |f(x)| on a grid of from..to.
func worst(from, to, step float64, f func(float64) float64) float64 {
	m := 0.0
	for x := from; x < to+step; x += step {
		m = max(m, math.Abs(f(min(x, to))))
	}
	return m
}

const grid = 1 / 2000.0 // four points to a lobe of the longest filter

// coarse is the grid of what takes longest, in a quick run with two points to a lobe.
func coarse() float64 { return long.Or(2*grid, grid) }

// The half-band properties of a symmetrical half-band filter (Oppenheim and
// Schafer, Discrete-Time Signal Processing; from memory): every other tap but
// the middle one is 0, A(w)+A(pi-w) = 1 and A(pi/2) = 1/2.
func TestHalfBandProperties(t *testing.T) {
	for _, c := range designs {
		for l, d := range c.Cascade {
			t.Run(fmt.Sprint(c.name, " doubling ", l), func(t *testing.T) { d.checkProperties(t, l) })
		}
	}
}

func (h halfBand) checkProperties(t *testing.T, level int) {
	y := interpolate([]float64{1}, h)
	if len(y) != 4*len(h)-1 {
		t.Errorf("%d taps, want 4k-1 = %d", len(y), 4*len(h)-1)
	}
	middle := len(y) / 2
	for i, c := range y {
		if want := math.Abs(float64(i - middle)); math.Mod(want, 2) == 0 &&
			c != map[bool]float64{true: 1}[i == middle] {
			t.Errorf("tap %d is %v", i-middle, c)
		}
		if c != y[len(y)-1-i] {
			t.Errorf("taps %d and %d are %v and %v: not of linear phase", i-middle, middle-i, c, y[len(y)-1-i])
		}
	}
	top := float64(int(1) << level)
	if d := worst(0, top/2, grid, func(f float64) float64 {
		return h.gain(f, level) + h.gain(top-f, level) - 1
	}); d > 1e-14 {
		t.Errorf("A(w)+A(pi-w) is off 1 by %v", d)
	}
	if g := h.gain(top/2, level); math.Abs(g-0.5) > 1e-14 {
		t.Errorf("the gain at half the rate is %v", g)
	}
	if g := h.gain(0, level); math.Abs(g-1) > 1e-15 {
		t.Errorf("the gain at 0 is %v", g)
	}
}

// On the way up the band passes, and its images are rejected: those of a tone of f lie at
// every multiple of the rate, f to either side.
func TestInterpolationResponse(t *testing.T) {
	for _, c := range designs {
		for levels := 1; levels <= 4; levels++ {
			gain := c.Cascade[:levels].gain
			ripple := worst(0, c.edge, grid, func(f float64) float64 { return gain(f) - 1 })
			image := 0.0
			for k := 1.0; k <= float64(int(1)<<levels)/2; k++ {
				image = max(image, worst(k-c.edge, k+c.edge, grid, gain))
			}
			t.Logf("%s, factor %2d: flat within %.1e dB up to %.1f kHz, images at %.1f dB", c.name, 1<<levels,
				dB(1+ripple), c.edge*44.1, dB(image))
			if dB(1+ripple) > c.flat {
				t.Errorf("%s, factor %d: %v dB from flat", c.name, 1<<levels, dB(1+ripple))
			}
			if dB(image) > c.images {
				t.Errorf("%s, factor %d: images at %.1f dB", c.name, 1<<levels, dB(image))
			}
		}
	}
}

// response is that of the way back, with the delay that it should not have.
func (d *Decimator) response(f float64) complex128 {
	var sum complex128
	for p := range d.factor {
		v, y := make([]float64, d.factor), make([]float64, Before+1+After)
		v[p] = 1
		d.Add(y, v)
		for j, c := range y {
			at := float64(j-Before) - float64(p)/float64(d.factor)
			sum += complex(c, 0) * cmplx.Rect(1, -2*math.Pi*f*at)
		}
	}
	return sum
}

// On the way back the band to 20 kHz passes with neither gain nor delay, and
// nothing folds back from beyond half the rate.
func TestDecimationResponse(t *testing.T) {
	for _, factor := range long.Or([]int{2, 8}, []int{2, 4, 8, 16}) {
		d := NewDecimator(factor)
		ripple := worst(0, kHz(20), coarse(), func(f float64) float64 { return cmplx.Abs(d.response(f) - 1) })
		fold := worst(kHz(21.8), min(3, float64(factor)/2), coarse(), func(f float64) float64 {
			return cmplx.Abs(d.response(f))
		})
		t.Logf("factor %2d: flat within %.1e dB up to 20 kHz, %.1f dB from 21.8 kHz on", factor,
			dB(1+ripple), dB(fold))
		if dB(1+ripple) > 1e-5 {
			t.Errorf("factor %d: %v dB from flat and without delay", factor, dB(1+ripple))
		}
		if dB(fold) > -130 {
			t.Errorf("factor %d: %.1f dB fold back", factor, dB(fold))
		}
	}
}

// A pulse of height 1 at its peak, finely sampled: it must have nothing beyond
// 21.8 kHz, so that taking it away adds nothing there.
func TestPulseSpectrum(t *testing.T) {
	var x []float64
	for k := range pulseValues {
		for row := pulseRows; row > 0; row-- {
			x = append(x, pulses()[pulseValues*row+k])
		}
	}
	const fine = pulseRate * pulseRows
	const middle = pulseSide*fine + pulseRows - 1
	if x[middle] != 1 {
		t.Errorf("the peak is %v", x[middle])
	}
	response := func(f float64) float64 {
		sum := 0.0
		for i, v := range x {
			sum += v * math.Cos(2*math.Pi*f*float64(i-middle)/fine)
		}
		return sum / fine * pulseBand
	}
	beyond := worst(kHz(21.8), 3, coarse(), response)
	passed := worst(0, kHz(17.2), coarse(), func(f float64) float64 { return response(f) - 1 })
	t.Logf("flat within %.1e dB up to 17.2 kHz, %.1f dB from 21.8 kHz on", dB(1+passed), dB(beyond))
	if dB(beyond) > -105 {
		t.Errorf("%.1f dB beyond 21.8 kHz", dB(beyond))
	}
	if dB(1+passed) > 1e-4 {
		t.Errorf("%v dB from flat up to 17.2 kHz", dB(1+passed))
	}
}

// The zeroth Bessel function is tabulated in Abramowitz and Stegun, table 9.8:
// I0(1) = 1.2660658778, I0(5) = 27.2398718236, I0(10) = 2815.716628 (from memory).
func TestBesselI0(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, 1: 1.2660658778, 5: 27.2398718236, 10: 2815.716628} {
		if got := besselI0(x); math.Abs(got/want-1) > 2e-10 {
			t.Errorf("I0(%v) = %.10f, want %.10f", x, got, want)
		}
	}
}

// Kaiser's formula gives a shape of 5.65326 for 60 dB (as tabulated with scipy's kaiser_beta).
func TestKaiserBeta(t *testing.T) {
	if got := fmt.Sprintf("%.5f", kaiserBeta(60)); got != "5.65326" {
		t.Errorf("%s for 60 dB, want 5.65326", got)
	}
}
