package ear

import "ledgerline/stages/portable"

// OuterDB is what the outer and middle ear do to a frequency in Hz, in dB, where something is to be divided
// by it: no lower than -25 dB, below 60 Hz as at 60 Hz, and above 16 kHz with the last term of the formula as
// at 16 kHz. [7]
func OuterDB(hz float64) float64 {
	f := max(hz, 60) / 1000
	return max(-25, outerDB(f, min(f, 16)))
}

// outerDB is the formula at f kHz, with the last term as at top kHz.
func outerDB(f, top float64) float64 {
	bump := f - 3.3
	return float64(-0.6*3.64*power(f, -0.8)) + float64(6.5*portable.Exp(-0.6*float64(bump*bump))) -
		float64(0.001*power(top, 3.6))
}

// Bark is a frequency in Hz by pitch. [8]
func Bark(hz float64) float64 { return pitch(hz) }
