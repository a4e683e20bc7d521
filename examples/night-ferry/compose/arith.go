package main

import (
	"math"
	"strings"
)

// The mixes must be the same on every processor, to the last bit. Two things prevent
// that. The language lets a compiler round x*y+z once where the processor can, unless the
// product is converted, so every product that may meet a sum is written float64(x*y). And
// the library's sine and exponential differ in their last bits between processors, so here
// are two of our own. Floor, division and products by a power of two are the same
// everywhere. To see that nothing is fused, run the tests with GOAMD64=v3 or on another
// processor.

const rate = 44100 // Hz

// sine is the sine of an angle in turns, right to about 1e-9: the Taylor
// series up to the 13th power, within a quarter turn of zero.
func sine(turns float64) float64 {
	turns = float64(turns)
	x := turns - math.Floor(turns+0.5)
	switch {
	case x > 0.25:
		x = 0.5 - x
	case x < -0.25:
		x = -0.5 - x
	}
	x = float64(2 * math.Pi * x)
	sq := float64(x * x)
	s := 1.0
	for _, n := range [...]float64{12 * 13, 10 * 11, 8 * 9, 6 * 7, 4 * 5, 2 * 3} {
		s = 1 - float64(sq*s)/n
	}
	return float64(x * s)
}

// exp is e to the power x, for x of moderate size: the Taylor series at
// x/1024, squared ten times.
func exp(x float64) float64 {
	x /= 1024
	e := 1.0
	for n := 8.0; n > 0; n-- {
		e = 1 + float64(x*e)/n
	}
	for range 10 {
		e = float64(e * e)
	}
	return e
}

// linear is the factor of a level in dB.
func linear(db float64) float64 { return exp(db * math.Ln10 / 20) }

// hz is the frequency of a note such as "A4", which is 440 Hz, "F#2" or "Bb3",
// in equal temperament.
func hz(note string) float64 {
	semitones := strings.IndexByte("C.D.EF.G.A.B", note[0]) - strings.IndexByte("C.D.EF.G.A.B", 'A')
	switch note[1] {
	case '#':
		semitones++
	case 'b':
		semitones--
	}
	semitones += 12 * (int(note[len(note)-1]-'0') - 4)
	return float64(440 * exp(math.Ln2/12*float64(semitones)))
}

// frames is the number of frames nearest to a time in seconds.
func frames(seconds float64) int { return int(float64(seconds*rate) + 0.5) }

// noise is a generator of random numbers, SplitMix64 (Steele, Lea and Flood,
// Fast Splittable Pseudorandom Number Generators, 2014). Its value is its seed.
type noise uint64

// next is the next number of an even density over -1..1.
func (n *noise) next() float64 {
	*n += 0x9e3779b97f4a7c15
	z := uint64(*n)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return float64(float64(int64(z^z>>31)>>11) / (1 << 52))
}
