package bandlimit

import "ledgerline/stages/kernel"

// halfBand is the taps at one side of a half-band interpolator: the value halfway
// between two samples is the sum over k of taps[k] * (the k-th sample to the left + the
// k-th to the right).
type halfBand []float64

// newHalfBand designs n taps, by a Kaiser window of shape beta, with a gain of exactly 1
// at DC.
func newHalfBand(n int, beta float64) halfBand {
	h := make(halfBand, n)
	sum := 0.0
	for k := range h {
		t := float64(k) + 0.5
		h[k] = WindowedSinc(t, float64(n), beta)
		sum += 2 * h[k]
	}
	for k := range h {
		h[k] /= sum
	}
	return h
}

// A Cascade is the doublings of an interpolator, up to 16 times. The later ones leave room for the
// transition of the first whole.
type Cascade []Doubler

// A Doubler doubles a rate: it finds the values halfway between samples, which pass
// unchanged themselves.
type Doubler struct {
	halfBand
	// for the samples around a value, from the furthest to the left to the furthest to the right
	Taps   []float64
	filter *kernel.Filter
}

// NewDoubler designs a doubler of n taps to each side of a value, by a Kaiser window of
// shape beta, with a gain of exactly 1 at DC.
func NewDoubler(n int, beta float64) Doubler {
	h := newHalfBand(n, beta)
	taps := make([]float64, 2*n)
	for k, v := range h {
		taps[n-1-k], taps[n+k] = v, v
	}
	return Doubler{h, taps, kernel.NewFilter(taps)}
}

// Between sets y[i] to the value halfway between x[from+i] and x[from+i+1]. The length of
// y is a multiple of kernel.Group. It panics where x lacks a sample that a tap is for.
func (d *Doubler) Between(y, x []float64, from int) {
	d.filter.Apply(y, x[from+1-len(d.halfBand):])
}

var (
	// Steep passes 21/44.1 of the track's rate and rejects what lies as far beyond half the rate by 140 dB and
	// more, and is as flat: for peaks, which are to be seen whole. With 96 taps to a side it leaves more of the
	// image of a harmonic at 21.3/44.1: a tone of 7.1 kHz, held 6 dB over, has an SNR of 98.7 dB instead of 105.
	Steep = newCascade(NewDoubler(104, kaiserBeta(143)))
	// Clean does so from 20/44.1 of the rate on, and is shorter: for what is clipped, of
	// which no more comes back.
	Clean = newCascade(NewDoubler(68, kaiserBeta(158)))
)

func newCascade(first Doubler) Cascade {
	return Cascade{
		first, NewDoubler(12, kaiserBeta(168)), NewDoubler(8, kaiserBeta(163)), NewDoubler(7, kaiserBeta(166)),
	}
}
