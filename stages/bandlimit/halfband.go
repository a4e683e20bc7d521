package bandlimit

import "ledgerline/stages/kernel"

// halfBand holds taps that HalfBand has designed.
type halfBand []float64

// HalfBand designs the taps at one side of a half-band interpolator that doubles
// a rate: 2n taps around each new value, by a Kaiser window of shape beta, with a gain
// of exactly 1 at DC. The value halfway between two samples is the sum over k of
// taps[k] * (the k-th sample to the left + the k-th to the right). The samples
// themselves pass unchanged.
func HalfBand(n int, beta float64) []float64 {
	h := make([]float64, n)
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

// halfBands are the doublings up to 16 times. The first passes 20.9/44.1 of the
// track's rate and rejects what lies as far beyond half the rate; the later ones leave
// room for its transition whole. Each rejects images by 140 dB and more and is as flat.
var halfBands = []halfBand{
	HalfBand(96, kaiserBeta(143)),
	HalfBand(13, kaiserBeta(168)),
	HalfBand(8, kaiserBeta(163)),
	HalfBand(7, kaiserBeta(166)),
}

// doublings are the half bands as filters of the samples from the furthest to the
// left to the furthest to the right.
var doublings = func() (all []*kernel.Filter) {
	for _, h := range halfBands {
		taps := make([]float64, 2*len(h))
		for k, c := range h {
			taps[len(h)-1-k], taps[len(h)+k] = c, c
		}
		all = append(all, kernel.NewFilter(taps))
	}
	return all
}()
