package stages

import (
	"math"
	"slices"
)

var gainKind = Kind{
	Name: "gain",
	Doc:  "Multiplies every sample; 0 dB is bit-exact.",
	Keys: []Key{{Name: "gain_db", Type: Number, Min: -60, Max: 60, Required: true, Unit: "dB", Doc: "The gain."}},
	New: func(_ Format, s Settings) (Stage, error) {
		return &gain{by: Linear(s["gain_db"].(float64))}, nil
	},
	Like: func(Settings) Likeness { return Likeness{Until: math.Inf(1)} },
}

type gain struct{ by float64 }

func (g *gain) Process(dst, in Block) Block {
	if g.by == 1 {
		return dst.Append(in)
	}
	for c := range in {
		at, n := len(dst[c]), len(in[c])
		dst[c] = slices.Grow(dst[c], n)[:at+n]
		multiply(dst[c][at:], in[c], g.by)
	}
	return dst
}

func (g *gain) Flush(dst Block) Block { return dst }

// Effect is none: a plain gain removes nothing.
func (g *gain) Effect() Effect { return Effect{Cut: 1} }

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
