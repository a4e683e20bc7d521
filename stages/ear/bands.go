package ear

import (
	"math"

	"ledgerline/stages/portable"
)

const (
	lowestHz  = 80
	highestHz = 18000
	barks     = 0.25 // width of a band
)

// A Band is a stretch of frequencies, in Hz. Its centre lies in the middle by pitch.
type Band struct{ From, Centre, To float64 }

// bandsBelow are the bands up to 18 kHz, or to that frequency where it is lower: 109, of which the last is
// cut off. [table 6]
func bandsBelow(hz float64) []Band {
	top := min(highestHz, hz)
	first, last := pitch(lowestHz), pitch(top)
	var bands []Band
	for k := 0; ; k++ {
		from := first + float64(barks*float64(k))
		if from >= last {
			return bands
		}
		to := min(from+barks, last)
		bands = append(bands, Band{frequency(from), frequency((from + to) / 2), frequency(to)})
	}
}

// pitch is a frequency in Bark. [8]
func pitch(hz float64) float64 {
	x := hz / 650
	return float64(7 * portable.Log(x+math.Sqrt(float64(x*x)+1))) // so that no sum is fused with it
}

// frequency is the inverse of pitch.
func frequency(bark float64) float64 {
	e := portable.Exp(bark / 7)
	return 650 * (e - 1/e) / 2
}

// weight is what the outer and middle ear do to the power of a frequency. [7]
func weight(hz float64) float64 {
	if hz <= 0 {
		return 0
	}
	f := hz / 1000
	return portable.Exp10(outerDB(f, f) / 10)
}

// power is x^y of an x above 0.
func power(x, y float64) float64 { return portable.Exp(y * portable.Log(x)) }
