package stages

var hardClipKind = Kind{
	Name: "hard_clip",
	Doc:  "Samples within the ceiling pass bit for bit; others become the ceiling with their sign.",
	Keys: []Key{ceilingKey},
	New: func(_ Format, s Settings) (Stage, error) {
		c, _ := s.Ceiling()
		return &hardClip{ceiling: c, effect: Effect{Cut: 1}}, nil
	},
}

type hardClip struct {
	ceiling float64
	effect  Effect
}

func (h *hardClip) Process(dst, in Block) Block {
	for c := range in {
		at := len(dst[c])
		dst[c] = append(dst[c], in[c]...)
		clamp(dst[c][at:], h.ceiling, &h.effect)
	}
	return dst
}

func (h *hardClip) Flush(dst Block) Block { return dst }

func (h *hardClip) Effect() Effect { return h.effect }

// clamp brings every sample of x within the ceiling and books what it took.
// A sample that is not a number stays as it is.
func clamp(x []float64, ceiling float64, e *Effect) {
	for i, v := range x {
		if v <= ceiling && v >= -ceiling || v != v {
			continue
		}
		x[i] = min(max(v, -ceiling), ceiling)
		e.book(v, x[i], ceiling)
	}
}

// book adds one changed sample to the effect.
func (e *Effect) book(in, out, ceiling float64) {
	d := in - out
	e.Touched++
	e.Removed += d * d
	if in = max(in, -in); in > ceiling {
		e.Cut = max(e.Cut, in/max(out, -out))
	}
}
