package audiofile

import (
	"encoding/binary"
	"math"

	"ledgerline/stages/kernel"
)

// An encoder turns the frames of planar src into interleaved dst, which has
// exactly their length, and returns how many samples it brought within full scale.
type encoder func(dst []byte, src [][]float64) (limited int64)

// toInteger added to a number of less than 2^31 leaves no bit for a fraction, so that
// the processor rounds it to nearest, ties to even, and the sum's low bits are
// the integer in two's complement: 1.5 * 2^52, IEEE 754 arithmetic.
const toInteger = 0x1.8p52

// code is x*full rounded to an integer of -full to full-1, and 1 if it had to be
// brought within that range. What is not a number becomes 0.
func code(x, full float64) (int32, int64) {
	x = float64(x * full)
	// full-1 is odd and -full even: a tie at the upper end rounds beyond the range, one at
	// the lower end into it.
	if x < full-0.5 && x >= -full-0.5 {
		return int32(math.Float64bits(x + toInteger)), 0
	}
	switch {
	case x > 0:
		return int32(full - 1), 1
	case x < 0:
		return int32(-full), 1
	}
	return 0, 1
}

// Limit brings samples that an encoding in whole numbers would limit within full scale: they become its
// largest or smallest code, as they are written. It returns how many they are and the largest magnitude among
// them, 0 if there are none. Floating point limits nothing. What is not finite is left to the encoder, so
// that a reading tells it.
func (e Encoding) Limit(x []float64) (limited int64, largest float64) {
	word := e.WordBits()
	if word == 0 {
		return 0, 0
	}
	full := float64(int64(1) << (word - 1))
	most, least := (full-0.5)/full, -(full+0.5)/full // exact, as full is a power of two
	for i, v := range x {
		switch {
		case v < most && v >= -1 || math.IsNaN(v) || math.IsInf(v, 0):
			continue
		case v < 0 && v >= least: // it is rounded to the smallest code
			x[i] = -1
			continue
		case v > 0:
			x[i] = (full - 1) / full
		default:
			x[i] = -1
		}
		limited++
		largest = max(largest, math.Abs(v))
	}
	return limited, largest
}

func encode16(dst []byte, src [][]float64) (limited int64) {
	step := 2 * len(src)
	for c, x := range src {
		o := 2 * c
		for _, v := range x {
			k, l := code(v, 0x1p15)
			limited += l
			binary.LittleEndian.PutUint16(dst[o:], uint16(k))
			o += step
		}
	}
	return limited
}

func encode24(dst []byte, src [][]float64) (limited int64) {
	if len(src) != 2 {
		return encode24Each(dst, src)
	}
	for a, b := src[0], src[1]; len(a) > 0; {
		n := kernel.Encode24(dst, a, b)
		dst, a, b = dst[6*n:], a[n:], b[n:]
		// Four frames of which a sample is to be limited, or those that are left.
		n = min(len(a), 4)
		limited += encode24Each(dst[:6*n], [][]float64{a[:n], b[:n]})
		dst, a, b = dst[6*n:], a[n:], b[n:]
	}
	return limited
}

func encode24Each(dst []byte, src [][]float64) (limited int64) {
	step := 3 * len(src)
	for c, x := range src {
		o := 3 * c
		for _, v := range x {
			k, l := code(v, 0x1p23)
			limited += l
			s := dst[o : o+3 : o+3]
			s[0], s[1], s[2] = byte(k), byte(k>>8), byte(k>>16)
			o += step
		}
	}
	return limited
}

func encode32(dst []byte, src [][]float64) (limited int64) {
	step := 4 * len(src)
	for c, x := range src {
		o := 4 * c
		for _, v := range x {
			k, l := code(v, 0x1p31)
			limited += l
			binary.LittleEndian.PutUint32(dst[o:], uint32(k))
			o += step
		}
	}
	return limited
}

func encodeFloat32(dst []byte, src [][]float64) (limited int64) {
	step := 4 * len(src)
	for c, x := range src {
		o := 4 * c
		for _, v := range x {
			binary.LittleEndian.PutUint32(dst[o:], math.Float32bits(float32(v)))
			o += step
		}
	}
	return 0
}

func encodeFloat64(dst []byte, src [][]float64) (limited int64) {
	step := 8 * len(src)
	for c, x := range src {
		o := 8 * c
		for _, v := range x {
			binary.LittleEndian.PutUint64(dst[o:], math.Float64bits(v))
			o += step
		}
	}
	return 0
}
