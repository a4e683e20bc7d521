package stages

import "math"

// Rise is the most that rounding to a word length may lift a peak by, as a magnitude
// relative to full scale.
type Rise struct {
	Sample float64 // a sample's: the noise's own reach and half a code; no sample ever passes it
	// a true peak's: five times the error's standard deviation; about one peak in 3.5 million passes it
	True float64
}

// RiseOf is the rise of a dither of these settings. With a triangular density the error's
// variance is a quarter of a code's square, with a rectangular one a sixth, without
// dither a twelfth (Lipshitz, Wannamaker and Vanderkooy, "Quantization and Dither: A
// Theoretical Survey", JAES 40(5), 1992). Interpolated between the samples, a white error has
// no more than that, since the squares of an interpolator's weights add up to 1 at most. A filter that shapes
// the error multiplies its largest value by the sum of the magnitudes of its response, and its variance by
// the sum of their squares.
func RiseOf(s Settings) Rise {
	return ditherRounding(s).Rise
}

// RiseTo is the rise of rounding to words of that length without dither.
func RiseTo(bits int) Rise { return RiseOf(Settings{"bits": int64(bits), "density": "none"}) }

// ditherRounding is how a dither rounds: by half a code and the largest value of its noise, which is
// half a code where that is even (rectangular) and a code where two such are added up (triangular).
func ditherRounding(s Settings) Rounding {
	bits, _ := s["bits"].(int64)
	code := math.Ldexp(1, 1-int(bits))
	reach, variance := 0.0, 1.0/12
	switch s["density"] {
	case "triangular":
		reach, variance = 1, 1.0/4
	case "rectangular":
		reach, variance = 0.5, 1.0/6
	}
	most, power := shapeGain(shapeOf(s))
	codes := float64((reach + 0.5) * most)
	deviations := float64(5 * math.Sqrt(float64(variance*power)))
	if most == 1 {
		deviations = max(codes, deviations)
	}
	return Rounding{
		Bits: int(bits), Codes: codes,
		Rise: Rise{Sample: float64(code * codes), True: float64(code * deviations)},
	}
}

// DitherTo is a dither stage to words of that length.
func DitherTo(bits int) Use {
	u := Use{Name: "dither", Kind: "dither", Settings: Settings{"bits": int64(bits)}}
	u.Of().Fill(u.Settings)
	return u
}
