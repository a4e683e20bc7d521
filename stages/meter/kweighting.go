package meter

import (
	"math"

	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

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
	k := portable.TanPi(shelfHz / rate)
	top := portable.Exp10(shelfDB / 20)
	mid := portable.Exp10(shelfDB / 20 * shelfBend)
	a0 := 1 + float64(k/shelfQ) + float64(k*k)
	return biquad{
		b0: (top + float64(mid*k/shelfQ) + float64(k*k)) / a0,
		b1: 2 * (float64(k*k) - top) / a0,
		b2: (top - float64(mid*k/shelfQ) + float64(k*k)) / a0,
		a1: 2 * (float64(k*k) - 1) / a0,
		a2: (1 - float64(k/shelfQ) + float64(k*k)) / a0,
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
		a1: 2 * (float64(k*k) - 1) / a0,
		a2: (1 - float64(k/highPassQ) + float64(k*k)) / a0,
	}
}

func highPassScale(rate float64) (k, a0 float64) {
	k = portable.TanPi(highPassHz / rate)
	return k, 1 + float64(k/highPassQ) + float64(k*k)
}

// kWeighting is both stages at a rate, apart from their gain.
type kWeighting struct {
	*kernel.Weighing
	power float64 // the gain, squared
}

// newKWeighting takes the gains b0 out in front and parts what is left into the
// input itself and two sections side by side, one for the poles of each stage:
//
//	(1 + b1/z + b2/z^2)/(1 + a1/z + a2/z^2) * (1 - 1/z)^2/(1 + c1/z + c2/z^2)
//	= 1 + shelf's section + high-pass's section
//
// so that neither waits for the other.
func newKWeighting(rate int) kWeighting {
	s, h := shelfAt(float64(rate)), highPassAt(float64(rate))
	zeros, shelf, highPass := aroundOne(s.b1/s.b0, s.b2/s.b0), aroundOne(s.a1, s.a2), aroundOne(h.a1, h.a2)
	gain := s.b0 * h.b0
	return kWeighting{
		kernel.NewWeighing([2]kernel.Section{
			newSection(shelf, zeros, highPass),
			newSection(highPass, zeros, shelf),
		}),
		gain * gain,
	}
}

// A quadratic is v^2 + b*v + c, and a line is b*v + c. Here v = z-1, as the poles of the
// high-pass lie so near 1 that in z their distance from it would drown in rounding.
type (
	quadratic struct{ b, c float64 }
	line      struct{ b, c float64 }
)

// aroundOne is z^2 + b1*z + b2.
func aroundOne(b1, b2 float64) quadratic { return quadratic{2 + b1, 1 + b1 + b2} }

// modulo is the line that q is modulo m.
func (q quadratic) modulo(m quadratic) line { return line{q.b - m.b, q.c - m.c} }

// times is the line that the product is modulo m.
func (l line) times(k line, m quadratic) line {
	square := l.b * k.b
	return line{
		float64(l.b*k.c) + float64(l.c*k.b) - float64(square*m.b), float64(l.c*k.c) - float64(square*m.c),
	}
}

// over is the line that gives l if multiplied by k, modulo m.
func (l line) over(k line, m quadratic) line {
	rest := k.c - float64(k.b*m.b)
	d := float64(rest*k.c) + float64(k.b*k.b*m.c)
	return line{(float64(l.b*k.c) - float64(l.c*k.b)) / d, (float64(rest*l.c) + float64(k.b*m.c*l.b)) / d}
}

// newSection is the part of zeros*v^2/(poles*others) that has the poles: a line over
// them. Multiplied by others it is zeros*v^2, modulo the poles.
func newSection(poles, zeros, others quadratic) kernel.Section {
	square := line{-poles.b, -poles.c}
	l := zeros.modulo(poles).times(square, poles).over(others.modulo(poles), poles)
	// The poles are v = -b/2 +- sqrt(Over*Back). Over is chosen so that the states of a
	// pair of poles that nearly meet, as the high-pass's do, are of one size.
	half := float64(poles.b / 2)
	return kernel.Section{
		Stay: 1 - half, Over: half, Back: -(poles.c - float64(half*half)) / half,
		First: (l.c - float64(half*l.b)) / half, Second: l.b,
	}
}

// dropFaint drops what has died away, which would otherwise end in subnormal
// numbers and make silence the slowest signal of all. Within one segment
// nothing can fall from here to there.
func dropFaint(s *kernel.States) {
	for i, v := range s {
		if math.Abs(v) < 1e-60 {
			s[i] = 0
		}
	}
}
