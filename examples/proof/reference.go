package main

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	referenceFactor = 64
	referenceFrames = 8192 // a piece, of which the middle counts
	referenceGuard  = 1024 // at either end, of which the outer half is faded
)

// A reference clips one channel at a multiple of its rate in the plainest way
// there is: it interpolates by a discrete Fourier transform padded with zeros,
// clips each value, and keeps what is below an edge, by the transform
// again. It shares nothing with the stages. It works piece by piece on what passes the
// ceiling, since the rest comes back unchanged:
//
//	out = in - lowpass(up - clip(up))
//
// The low-pass is flat up to the edge and falls to nothing by half the rate.
type reference struct {
	factor      int
	ceiling     float64
	edge        float64 // of the rate
	down, up    *fourier.FFT
	piece       []float64
	bins, dense []complex128
	values      []float64 // at factor times the rate
}

func newReference(factor int, ceiling, edge float64) *reference {
	const n = referenceFrames
	return &reference{
		factor: factor, ceiling: ceiling, edge: edge,
		down: fourier.NewFFT(n), up: fourier.NewFFT(n * factor),
		piece: make([]float64, n), values: make([]float64, n*factor),
		bins: make([]complex128, n/2+1), dense: make([]complex128, n*factor/2+1),
	}
}

// clip is x, clipped.
func (r *reference) clip(x []float64) []float64 {
	const n, guard = referenceFrames, referenceGuard
	out := append([]float64(nil), x...)
	for core := 0; core < len(x); core += n - 2*guard {
		from := core - guard
		cut(r.piece, x, from, guard/2)
		if !r.excess() {
			continue
		}
		r.back()
		for i, v := range r.piece {
			if at := from + i; at >= 0 && at < len(out) {
				out[at] -= v
			}
		}
	}
	return out
}

// excess sets values to what passes the ceiling in the middle of the
// piece, and reports whether anything does.
func (r *reference) excess() (any bool) {
	clear(r.dense)
	r.down.Coefficients(r.bins, r.piece)
	copy(r.dense, r.bins)
	r.dense[len(r.bins)-1] /= 2 // half the rate is as much +half as -half
	r.up.Sequence(r.values, r.dense)
	from, to := referenceGuard*r.factor, (referenceFrames-referenceGuard)*r.factor
	clear(r.values[:from])
	clear(r.values[to:])
	for i := from; i < to; i++ {
		v := r.values[i] / referenceFrames
		r.values[i] = v - min(max(v, -r.ceiling), r.ceiling)
		any = any || r.values[i] != 0
	}
	return any
}

// back takes values, low-passed, to the piece.
func (r *reference) back() {
	r.up.Coefficients(r.dense, r.values)
	for k := range r.bins {
		r.bins[k] = r.dense[k] * complex(lowpass(float64(k)/referenceFrames, r.edge), 0)
	}
	r.down.Sequence(r.piece, r.bins)
	for i := range r.piece {
		r.piece[i] /= float64(len(r.values))
	}
}

// lowpass is 1 up to the edge, 0 from half the rate on, and half a cosine between.
func lowpass(f, edge float64) float64 {
	t := min(max((f-edge)/(0.5-edge), 0), 1)
	return 0.5 + 0.5*math.Cos(math.Pi*t)
}
