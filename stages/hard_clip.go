package stages

import "math"

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
	for len(x) >= 8 {
		if anyBeyond((*[8]float64)(x), ceiling) {
			clampEach(x[:8], ceiling, e)
		}
		x = x[8:]
	}
	clampEach(x, ceiling, e)
}

// anyBeyond says whether a sample of x passes the ceiling or is not a number.
// Magnitudes stand in the order of their bits, those that are not a number
// above all others; so a difference of bits is negative where one passes, and
// eight of them want one decision only.
func anyBeyond(x *[8]float64, ceiling float64) bool {
	const magnitude = 1<<63 - 1
	top := int64(math.Float64bits(ceiling))
	d := top - int64(math.Float64bits(x[0])&magnitude)
	d |= top - int64(math.Float64bits(x[1])&magnitude)
	d |= top - int64(math.Float64bits(x[2])&magnitude)
	d |= top - int64(math.Float64bits(x[3])&magnitude)
	d |= top - int64(math.Float64bits(x[4])&magnitude)
	d |= top - int64(math.Float64bits(x[5])&magnitude)
	d |= top - int64(math.Float64bits(x[6])&magnitude)
	d |= top - int64(math.Float64bits(x[7])&magnitude)
	return d < 0
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
