package judge

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A Share is of the frames of a signal, in percent: those in which anything of what was removed is over the
// masking threshold, and those in which it is so by 6 dB.
type Share struct{ Over, BySix float64 }

// The second judge, after psychoacoustic model 2 of ISO/IEC 11172-3, annex D. From memory: the steps and
// their order, the prediction from two frames, the spreading function, the tonality -0.299 - 0.43 ln c, noise
// masking tones by 5.5 dB and tones masking noise by 24.5 dB or 15.5 dB + z/Bark if that is more, and the
// control of pre-echoes by 2 and 16 times the thresholds before. Not after the standard: the partitions are
// thirds of a Bark by formula instead of its tables, and the threshold in quiet is Terhardt's, with full
// scale at 92 dB. What is compared with the threshold is the spectrum of the difference of the waveforms.
const (
	secondFrames = 1024
	secondHop    = 512
	thirds       = 3 // partitions a Bark
)

type second struct {
	fft    *fourier.FFT
	window []float64
	from   []int // first bin of each partition, and the end
	spread [][]float64
	tone   []float64 // dB by which a tone lies over the noise it masks
	quiet  []float64 // energy

	before, twice []complex128 // spectra of the two frames before
	thresholds    [2][]float64 // of the two frames before
}

func newSecond(rate int) *second {
	s := &second{fft: fourier.NewFFT(secondFrames), window: hann(secondFrames)}
	bark := func(hz float64) float64 { // Zwicker and Terhardt, 1980
		return 13*math.Atan(0.76e-3*hz) + 3.5*math.Atan(hz/7500*hz/7500)
	}
	bin := float64(rate) / secondFrames
	var z []float64
	for k, last := 1, -1; float64(k)*bin < 16000; k++ {
		if p := int(bark(float64(k)*bin) * thirds); p > last {
			s.from, last = append(s.from, k), p
			z = append(z, bark(float64(k)*bin))
		}
		s.from = append(s.from[:len(z)], k+1)
	}
	full := 0.0 // energy of a sine at full scale
	for _, w := range s.window {
		full += w / 2
	}
	full *= full
	for i := range z {
		row, sum := make([]float64, len(z)), 0.0
		for j := range z {
			row[j] = spreading(z[i] - z[j])
			sum += row[j]
		}
		for j := range row {
			row[j] /= sum
		}
		s.spread = append(s.spread, row)
		s.tone = append(s.tone, max(24.5, 15.5+z[i]))
		khz := (float64(s.from[i]) + float64(s.from[i+1]-1)) / 2 * bin / 1000
		db := 3.64*math.Pow(khz, -0.8) - 6.5*math.Exp(-0.6*(khz-3.3)*(khz-3.3)) + 0.001*math.Pow(khz, 4)
		s.quiet = append(s.quiet, full*math.Pow(10, (min(db, 60)-92)/10))
		for k := range s.thresholds {
			s.thresholds[k] = append(s.thresholds[k], math.Inf(1))
		}
	}
	s.before, s.twice = make([]complex128, secondFrames/2+1), make([]complex128, secondFrames/2+1)
	return s
}

// spreading is how much of an energy is felt so many Bark above it.
func spreading(dz float64) float64 {
	x := 1.05 * dz
	dip := 8 * min((x-0.5)*(x-0.5)-2*(x-0.5), 0)
	db := 15.811389 + 7.5*(x+0.474) - 17.5*math.Sqrt(1+(x+0.474)*(x+0.474))
	if db < -100 {
		return 0
	}
	return math.Pow(10, (dip+db)/10)
}

// threshold is the energy that is masked in each partition of the next frame.
func (s *second) threshold(x []complex128) []float64 {
	n := len(s.tone)
	energy, unsure := make([]float64, n), make([]float64, n)
	for i := range n {
		for k := s.from[i]; k < s.from[i+1]; k++ {
			e := real(x[k])*real(x[k]) + imag(x[k])*imag(x[k])
			r := 2*cmplx.Abs(s.before[k]) - cmplx.Abs(s.twice[k])
			guess := cmplx.Rect(r, 2*cmplx.Phase(s.before[k])-cmplx.Phase(s.twice[k]))
			if sum := cmplx.Abs(x[k]) + math.Abs(r); sum > 0 {
				unsure[i] += e * cmplx.Abs(x[k]-guess) / sum
			}
			energy[i] += e
		}
	}
	out := make([]float64, n)
	for i := range n {
		e, c := 0.0, 0.0
		for j, w := range s.spread[i] {
			e += w * energy[j]
			c += w * unsure[j]
		}
		tonal := 0.0
		if e > 0 {
			tonal = min(max(-0.299-0.43*math.Log(max(c/e, 1e-9)), 0), 1)
		}
		masked := e * math.Pow(10, -(tonal*s.tone[i]+(1-tonal)*5.5)/10)
		out[i] = max(min(masked, 2*s.thresholds[0][i], 16*s.thresholds[1][i]), s.quiet[i])
		s.thresholds[1][i], s.thresholds[0][i] = s.thresholds[0][i], masked
	}
	copy(s.twice, s.before)
	copy(s.before, x)
	return out
}

// Second is the worse channel of each figure by the second judge.
func Second(rate int, before, after [][]float64) (worst Share) {
	for c := range before {
		s := newSecond(rate)
		frames, over, six := 0, 0, 0
		for at := 0; at+secondFrames <= len(before[c]); at += secondHop {
			x, d := make([]float64, secondFrames), make([]float64, secondFrames)
			for i, w := range s.window {
				x[i] = w * before[c][at+i]
				d[i] = w * (after[c][at+i] - before[c][at+i])
			}
			threshold := s.threshold(s.fft.Coefficients(nil, x))
			noise, most := s.fft.Coefficients(nil, d), 0.0
			for i, masked := range threshold {
				e := 0.0
				for k := s.from[i]; k < s.from[i+1]; k++ {
					e += real(noise[k])*real(noise[k]) + imag(noise[k])*imag(noise[k])
				}
				most = max(most, e/masked)
			}
			frames++
			if most > 1 {
				over++
			}
			if most > 4 {
				six++
			}
		}
		worst.Over = max(worst.Over, 100*float64(over)/float64(frames))
		worst.BySix = max(worst.BySix, 100*float64(six)/float64(frames))
	}
	return worst
}

func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
	}
	return w
}
