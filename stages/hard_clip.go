package stages

import "ledgerline/stages/kernel"

var hardClipKind = Kind{
	Name: "hard_clip",
	Doc:  "Samples within the ceiling pass bit for bit; others become the ceiling with their sign.",
	Keys: []Key{ceilingKey},
	New: func(f Format, s Settings) (Stage, error) {
		c, _ := s.Ceiling()
		return &hardClip{ceiling: c, effects: newEffects(f.Channels)}, nil
	},
}

// hardClip limits each sample by itself. An infinite sample becomes the
// ceiling, one that is not a number stays as it is.
type hardClip struct {
	ceiling float64
	effects effects
}

func (h *hardClip) Process(dst, in Block) Block {
	for c := range in {
		at := len(dst[c])
		dst[c] = append(dst[c], in[c]...)
		clamp(dst[c][at:], h.ceiling, &h.effects[c])
	}
	return dst
}

func (h *hardClip) Flush(dst Block) Block { return dst }

func (h *hardClip) Effect() Effect { return h.effects.total() }

// clamp brings every sample of x within the ceiling and books what it took.
// A sample that is not a number stays as it is.
func clamp(x []float64, ceiling float64, e *Effect) {
	for {
		if x = x[kernel.Within(x, ceiling):]; len(x) == 0 {
			return
		}
		// Samples that pass the ceiling come several together.
		n := min(len(x), 8)
		clampEach(x[:n], ceiling, e)
		x = x[n:]
	}
}

// clampEach is clamp, sample by sample.
func clampEach(x []float64, ceiling float64, e *Effect) {
	for i, v := range x {
		if v <= ceiling && v >= -ceiling || v != v {
			continue
		}
		x[i] = min(max(v, -ceiling), ceiling)
		e.book(v, x[i], ceiling)
	}
}
