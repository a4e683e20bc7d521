package main

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// fine is how many values a frame are looked at for the true peak. With 32 a
// sine at half the rate is under-read by 0.01 dB at most (ITU-R BS.1770-5,
// Annex 2, attachment 1: 20 log10 cos(pi f/n)); below it by less.
//
// The discrete Fourier transform makes coarse of them, so that no frequency is more than an eighth of the
// rate of these. The values between are those of the polynomial through 12 of them, and only sought beside
// one that is large enough: by the same formula, a sine passes its largest value of four a frame by 0.69 dB
// at most, the part nearly.
const (
	fine   = 32
	coarse = 4
	steps  = fine / coarse
	nodes  = 12
	nearly = 0.92
)

// weights are those of the nodes, the middle two of which a value lies between, for each step from the first
// of these to the second.
var weights = func() (w [steps][nodes]float64) {
	for s := range w {
		at := nodes/2 - 1 + float64(s)/steps
		for i := range w[s] {
			w[s][i] = 1
			for k := range nodes {
				if k != i {
					w[s][i] *= (at - float64(k)) / float64(i-k)
				}
			}
		}
	}
	return w
}()

// A between finds the signal between the samples of a stretch of n frames, n
// even, by the discrete Fourier transform: the stretch, repeated for ever, is
// delayed by a quarter of a frame after another. It is not safe for several
// goroutines at once.
type between struct {
	fft    *fourier.FFT
	turns  []complex128 // of each bin, for a quarter of a frame
	bins   []complex128
	values []float64
	dense  []float64               // coarse values a frame, as many again at both ends as a polynomial needs
	pass   func(f float64) float64 // what is left of a frequency, in cycles a frame; nil: all
}

func newBetween(n int) *between {
	b := &between{
		fft: fourier.NewFFT(n), turns: make([]complex128, n/2+1), bins: make([]complex128, n/2+1),
		values: make([]float64, n), dense: make([]float64, coarse*n+2*nodes),
	}
	for k := range b.turns {
		b.turns[k] = cmplx.Rect(1, 2*math.Pi*float64(k)/float64(n)/coarse)
	}
	return b
}

// peak is the largest magnitude from sample from up to, and not at, sample to
// of the stretch.
func (b *between) peak(stretch []float64, from, to int) float64 {
	b.fft.Coefficients(b.bins, stretch)
	n, half := len(b.values), len(b.bins)-1
	copy(b.values, stretch)
	scale := 1.0
	if b.pass != nil {
		b.shape()
		scale = 1 / float64(n)
	}
	edge := real(b.bins[half])
	for m := range coarse {
		if m > 0 {
			for k, turn := range b.turns {
				b.bins[k] *= turn
			}
			// Half the rate is as much +half as -half: what is left is the real part.
			b.bins[half] = complex(edge*math.Cos(math.Pi*float64(m)/coarse), 0)
			b.fft.Sequence(b.values, b.bins)
			scale = 1 / float64(n)
		}
		for i, v := range b.values {
			b.dense[nodes+coarse*i+m] = scale * v
		}
	}
	copy(b.dense, b.dense[coarse*n:][:nodes])
	copy(b.dense[coarse*n+nodes:], b.dense[nodes:][:nodes])
	return b.climb(coarse*from, coarse*to)
}

// climb is the largest magnitude from one of the dense values up to another.
func (b *between) climb(from, to int) float64 {
	peak := largest(b.dense[nodes+from : nodes+to])
	enough := nearly * peak
	for i := from; i < to; i++ {
		u := b.dense[i+nodes-(nodes/2-1):][:nodes]
		if max(math.Abs(u[nodes/2-1]), math.Abs(u[nodes/2])) < enough {
			continue
		}
		for s := 1; s < steps; s++ {
			sum := 0.0
			for k, w := range weights[s] {
				sum += w * u[k]
			}
			peak = max(peak, math.Abs(sum))
		}
	}
	return peak
}

// shape takes from the bins what does not pass, and sets the values to what is left, times their number.
func (b *between) shape() {
	n := float64(len(b.values))
	for k := range b.bins {
		b.bins[k] *= complex(b.pass(float64(k)/n), 0)
	}
	b.fft.Sequence(b.values, b.bins)
}

func largest(x []float64) (peak float64) {
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	return peak
}

const (
	pieceFrames = 16384
	pieceGuard  = 1024 // at either end of a piece, where it is faded
)

// truePeak is the true peak of a whole channel: of overlapping pieces, faded at
// their ends, where they are not looked at.
func truePeak(x []float64) float64 { return truePeakOf(x, newBetween(pieceFrames)) }

// truePeakBelow is that of what a low-pass filter leaves of the channel, flat up to an edge, of the rate, and
// nothing from half the rate on.
func truePeakBelow(x []float64, edge float64) float64 {
	b := newBetween(pieceFrames)
	b.pass = func(f float64) float64 { return lowpass(f, edge) }
	return truePeakOf(x, b)
}

func truePeakOf(x []float64, b *between) (peak float64) {
	piece := make([]float64, pieceFrames)
	for at := 0; at < len(x); at += pieceFrames - 2*pieceGuard {
		cut(piece, x, at-pieceGuard, pieceGuard)
		peak = max(peak, b.peak(piece, pieceGuard, pieceFrames-pieceGuard))
	}
	return peak
}

// cut sets piece to what x has from frame from on, silence around x, its first
// and last guard frames faded.
func cut(piece, x []float64, from, guard int) {
	clear(piece)
	if lo, hi := max(from, 0), min(from+len(piece), len(x)); lo < hi {
		copy(piece[lo-from:], x[lo:hi])
	}
	for i := range guard {
		g := 0.5 - 0.5*math.Cos(math.Pi*(float64(i)+0.5)/float64(guard))
		piece[i] *= g
		piece[len(piece)-1-i] *= g
	}
}
