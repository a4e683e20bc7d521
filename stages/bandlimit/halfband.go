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

// A Cascade is the doublings of an interpolator, up to 16 times. The later ones leave room for the
// transition of the first whole.
type Cascade []doubling

// A doubling is a half band, and it as a filter of the samples from the furthest to the left
// to the furthest to the right.
type doubling struct {
	halfBand
	filter *kernel.Filter
}

var (
	// Steep passes 20.9/44.1 of the track's rate and rejects what lies as far beyond half the rate by 140 dB and
	// more, and is as flat: for peaks, which are to be seen whole.
	Steep = newCascade(HalfBand(96, kaiserBeta(143)))
	// Clean does so from 20/44.1 of the rate on, and is shorter: for what is clipped, of
	// which no more comes back.
	Clean = newCascade(HalfBand(68, kaiserBeta(158)))
)

func newCascade(first []float64) (c Cascade) {
	for _, h := range []halfBand{first, HalfBand(12, kaiserBeta(168)), HalfBand(8, kaiserBeta(163)), HalfBand(7, kaiserBeta(166))} {
		c = append(c, newDoubling(h))
	}
	return c
}

func newDoubling(h halfBand) doubling {
	taps := make([]float64, 2*len(h))
	for k, v := range h {
		taps[len(h)-1-k], taps[len(h)+k] = v, v
	}
	return doubling{h, kernel.NewFilter(taps)}
}
