package main

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/dsp/fourier"
)

// audible is the upper edge of what is counted, Hz.
const audible = 20000

// edgeOf is that edge as a part of a rate, and never more than it is at 44.1 kHz.
func edgeOf(rate int) float64 { return min(audible/float64(rate), audible/44100.0) }

// aliasSNR is the power in the harmonics of the fundamental, up to the edge, over
// the power in every other bin up to it, dB. x is a whole number of cycles, so
// that no harmonic spreads over other bins.
func aliasSNR(x []float64, cycles int, edge float64) float64 {
	harmonics, rest := 0.0, 0.0
	for k, z := range fourier.NewFFT(len(x)).Coefficients(nil, x) {
		if float64(k) > edge*float64(len(x)) {
			break
		}
		p := real(z)*real(z) + imag(z)*imag(z)
		if k > 0 && k%cycles == 0 {
			harmonics += p
		} else {
			rest += p
		}
	}
	return powerDB(harmonics / rest)
}

// power is the sum of squares of the part of x below the edge. Outside its ends x is
// silent.
func power(x []float64, edge float64) (sum float64) {
	n := 1 << bits.Len(uint(len(x)))
	padded := make([]float64, n)
	copy(padded, x)
	for k, z := range fourier.NewFFT(n).Coefficients(nil, padded) {
		if float64(k) > edge*float64(n) {
			break
		}
		p := real(z)*real(z) + imag(z)*imag(z)
		if k > 0 {
			p *= 2 // the bin at -k
		}
		sum += p
	}
	return sum / float64(n) // Parseval
}

func powerDB(ratio float64) float64 { return 10 * math.Log10(ratio) }
