package stages

import "slices"

// A Mono is a stage that works on one channel and hands on each frame at once.
type Mono interface {
	// Process makes dst of src. They are of one length and share no memory; the block lengths
	// that a caller chooses change nothing in what comes out.
	Process(dst, src []float64)
	// Effect is what the stage has done so far; the zero Effect where it removes nothing.
	Effect() Effect
}

// monos is a stage of one Mono a channel.
type monos struct{ each []Mono }

func (m *monos) Process(dst, in Block) Block {
	for c, x := range in {
		at := len(dst[c])
		dst[c] = slices.Grow(dst[c], len(x))[:at+len(x)]
		m.each[c].Process(dst[c][at:], x)
	}
	return dst
}

func (m *monos) Flush(dst Block) Block { return dst }

func (m *monos) Effect() (sum Effect) {
	for _, one := range m.each {
		sum.Add(one.Effect())
	}
	return sum
}
