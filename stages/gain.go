package stages

import "math"

var gainKind = Kind{
	Name: "gain",
	Doc:  "Multiplies every sample; 0 dB is bit-exact.",
	Keys: []Key{
		{Name: "gain_db", Type: Number, Min: -60, Max: 60, Required: true, Unit: "dB", Doc: "The gain."},
	},
	Mono: func(_ Format, s Settings) (Mono, error) { return gain(gainFactor(s).By), nil },
	Like: func(Settings) Likeness { return Likeness{Until: math.Inf(1)} },

	Multiplies: gainFactor,
}

func gainFactor(s Settings) Factor {
	db, _ := s["gain_db"].(float64) // that of a ledger may lack it
	return Factor{By: Linear(db), DB: db}
}

// gain is the factor it multiplies by.
type gain float64

func (g gain) Process(dst, src []float64) {
	if g == 1 {
		copy(dst, src)
		return
	}
	multiply(dst, src, float64(g))
}

// Effect is none: a plain gain removes nothing.
func (gain) Effect() Effect { return Effect{} }

// multiply sets each sample of dst to that of src times by. They are of one length.
func multiply(dst, src []float64, by float64) {
	for len(src) >= 4 && len(dst) >= 4 {
		d, s := (*[4]float64)(dst), (*[4]float64)(src)
		d[0], d[1], d[2], d[3] = s[0]*by, s[1]*by, s[2]*by, s[3]*by
		dst, src = dst[4:], src[4:]
	}
	for i, x := range src {
		dst[i] = x * by
	}
}

// GainBy is a gain stage of that many dB.
func GainBy(db float64) Use {
	return Use{Name: "gain", Kind: "gain", Settings: Settings{"gain_db": db}}
}
