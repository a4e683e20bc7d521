package meter

import "math"

// A biquad is (b0 + b1/z + b2/z^2) / (1 + a1/z + a2/z^2).
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// BS.1770-5 prints the K-weighting's coefficients at 48 kHz only (Annex 1
// Tables 1 and 2) and asks for the same frequency response at other rates.
// These are the analogue shelf and high-pass whose bilinear transforms have
// the printed coefficients; they go about in the trade since 2011.
const (
	shelfHz   = 1681.974450955533
	shelfQ    = 0.7071752369554196
	shelfDB   = 3.999843853973347
	shelfBend = 0.4996667741545416 // the gain at shelfHz as a power of the shelf's

	highPassHz = 38.13547087602444
	highPassQ  = 0.5003270373238773
)

// shelfAt is the first stage of the K-weighting at a rate.
func shelfAt(rate float64) biquad {
	k := math.Tan(math.Pi * shelfHz / rate)
	top := math.Pow(10, shelfDB/20)
	mid := math.Pow(top, shelfBend)
	a0 := 1 + k/shelfQ + k*k
	return biquad{
		b0: (top + mid*k/shelfQ + k*k) / a0,
		b1: 2 * (k*k - top) / a0,
		b2: (top - mid*k/shelfQ + k*k) / a0,
		a1: 2 * (k*k - 1) / a0,
		a2: (1 - k/shelfQ + k*k) / a0,
	}
}

// highPassAt is the second stage of the K-weighting at a rate. At 48 kHz the
// printed numerator is 1, -2, 1 and not that over a0, which a bilinear
// transform would have; so at other rates it is a0 at 48 kHz over a0, or the
// response would be up to 0.04 dB off at 192 kHz.
func highPassAt(rate float64) biquad {
	k, a0 := highPassScale(rate)
	_, printed := highPassScale(48000)
	b := printed / a0
	return biquad{
		b0: b,
		b1: -2 * b,
		b2: b,
		a1: 2 * (k*k - 1) / a0,
		a2: (1 - k/highPassQ + k*k) / a0,
	}
}

func highPassScale(rate float64) (k, a0 float64) {
	k = math.Tan(math.Pi * highPassHz / rate)
	return k, 1 + k/highPassQ + k*k
}

// kWeighting is both stages with their gains taken out in front:
// gain * (1 + b1/z + b2/z^2)/(1 + a1/z + a2/z^2) * (1 - 2/z + 1/z^2)/(1 + c1/z + c2/z^2).
type kWeighting struct {
	b1, b2, a1, a2, c1, c2 float64
	power                  float64 // gain squared
}

func newKWeighting(rate int) kWeighting {
	s, h := shelfAt(float64(rate)), highPassAt(float64(rate))
	gain := s.b0 * h.b0
	return kWeighting{s.b1 / s.b0, s.b2 / s.b0, s.a1, s.a2, h.a1, h.a2, gain * gain}
}

// weightState is what one channel's K-weighting remembers: two transposed
// direct forms.
type weightState struct{ s1, s2, t1, t2 float64 }

// settle drops what has died away, which would otherwise end in subnormal
// numbers and make silence the slowest signal of all. Within one segment
// nothing can fall from here to there.
func (s *weightState) settle() {
	for _, v := range []*float64{&s.s1, &s.s2, &s.t1, &s.t2} {
		if math.Abs(*v) < 1e-60 {
			*v = 0
		}
	}
}
