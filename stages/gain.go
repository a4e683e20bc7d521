package stages

var gainKind = Kind{
	Name: "gain",
	Doc:  "Multiplies every sample; 0 dB is bit-exact.",
	Keys: []Key{{Name: "gain_db", Type: Number, Min: -60, Max: 60, Required: true, Unit: "dB", Doc: "The gain."}},
	New: func(_ Format, s Settings) (Stage, error) {
		return &gain{by: Linear(s["gain_db"].(float64))}, nil
	},
}

type gain struct{ by float64 }

func (g *gain) Process(dst, in Block) Block {
	for c := range in {
		for _, x := range in[c] {
			dst[c] = append(dst[c], x*g.by)
		}
	}
	return dst
}

func (g *gain) Flush(dst Block) Block { return dst }

// Effect is none: a plain gain removes nothing.
func (g *gain) Effect() Effect { return Effect{Cut: 1} }
