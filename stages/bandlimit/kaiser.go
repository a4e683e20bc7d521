package bandlimit

import (
	"math"

	"ledgerline/stages/portable"
)

const passEdge = 20.0 / 44.1 // of the track's rate

// besselI0 is the modified Bessel function of the first kind and order 0, by
// its power series sum ((x/2)^k / k!)^2 (Abramowitz and Stegun, 9.6.12; from memory).
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-18*sum; k++ {
		term = float64(term * ((x / 2 / k) * (x / 2 / k)))
		sum += term
	}
	return sum
}

// A kaiserWindow is the Kaiser window of a shape.
type kaiserWindow struct{ beta, middle float64 }

func newKaiserWindow(beta float64) kaiserWindow { return kaiserWindow{beta, besselI0(beta)} }

// at is the window at t in -1..1, 1 at its middle and 0 outside.
func (w kaiserWindow) at(t float64) float64 {
	if t < -1 || t > 1 {
		return 0
	}
	return besselI0(w.beta*math.Sqrt(1-float64(t*t))) / w.middle
}

// kaiser is the Kaiser window of shape beta at t.
func kaiser(t, beta float64) float64 { return newKaiserWindow(beta).at(t) }

// kaiserBeta is the shape for a stop band of that many dB, above 50
// (Kaiser's design formula, Oppenheim and Schafer, Discrete-Time Signal Processing).
func kaiserBeta(dB float64) float64 { return 0.1102 * (dB - 8.7) }

// sinc is sin(pi t)/(pi t).
func sinc(t float64) float64 {
	if t == 0 {
		return 1
	}
	return portable.SinPi(t) / (math.Pi * t)
}

// WindowedSinc is sin(pi t)/(pi t) under a Kaiser window of shape beta that ends
// at -reach and reach.
func WindowedSinc(t, reach, beta float64) float64 { return sinc(t) * kaiser(t/reach, beta) }
