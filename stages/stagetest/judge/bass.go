package judge

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// What the bass judge looks at: frames long enough for the third octaves from 25 to 400 Hz (centres after IEC
// 61260-1, base ten). A band counts as over where what was removed comes within bassOffsetDB of what is there
// or next to it, less the slopes to the bands beside, which are those of the masking of narrow bands by
// Zwicker and Fastl (about 27 dB a Bark downwards, less upwards), of which a third octave here is a half or
// less.
const (
	bassFrames   = 8192
	bassHop      = 4096
	bassOffsetDB = 15
	bassDown     = 13 // dB a third octave
	bassUp       = 6
)

// Bass is the share of frames, in percent, with a band over: the worse channel.
func Bass(rate int, before, after [][]float64) (worst float64) {
	fft, window := fourier.NewFFT(bassFrames), hann(bassFrames)
	energies := func(x []float64) (e []float64) {
		c := fft.Coefficients(nil, x)
		for n := -16; n <= -4; n++ { // 1 kHz times 10^(n/10)
			from, to := 1000*math.Pow(10, (float64(n)-0.5)/10), 1000*math.Pow(10, (float64(n)+0.5)/10)
			sum := 0.0
			for k := range c {
				// The part of the bin that lies in the band.
				low, high := (float64(k)-0.5)*float64(rate)/bassFrames, (float64(k)+0.5)*float64(rate)/bassFrames
				if part := min(high, to) - max(low, from); part > 0 {
					sum += part / (high - low) * (real(c[k])*real(c[k]) + imag(c[k])*imag(c[k]))
				}
			}
			e = append(e, sum)
		}
		return e
	}
	for c := range before {
		frames, over := 0, 0
		for at := 0; at+bassFrames <= len(before[c]); at += bassHop {
			x, d := make([]float64, bassFrames), make([]float64, bassFrames)
			for i, w := range window {
				x[i], d[i] = w*before[c][at+i], w*(after[c][at+i]-before[c][at+i])
			}
			there, gone, found := energies(x), energies(d), false
			for i, e := range gone {
				mask := 0.0
				for j, m := range there {
					slope := float64(bassUp * (i - j))
					if j > i {
						slope = float64(bassDown * (j - i))
					}
					mask = max(mask, m*math.Pow(10, -slope/10))
				}
				found = found || e > 1e-9 && e > mask*math.Pow(10, -bassOffsetDB/10.0)
			}
			frames++
			if found {
				over++
			}
		}
		worst = max(worst, 100*float64(over)/float64(frames))
	}
	return worst
}

// bassEnergy is that from 30 to 120 Hz.
func bassEnergy(rate int, b [][]float64) (sum float64) {
	fft, window := fourier.NewFFT(bassFrames), hann(bassFrames)
	for _, x := range b {
		part := make([]float64, bassFrames)
		for at := 0; at+bassFrames <= len(x); at += bassHop {
			for i, w := range window {
				part[i] = w * x[at+i]
			}
			c := fft.Coefficients(nil, part)
			for k := range c {
				if hz := float64(k) * float64(rate) / bassFrames; hz >= 30 && hz <= 120 {
					sum += real(c[k])*real(c[k]) + imag(c[k])*imag(c[k])
				}
			}
		}
	}
	return sum
}
