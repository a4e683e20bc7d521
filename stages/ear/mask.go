package ear

import "slices"

// A Mask is the masking threshold of one channel as time passes. It serves one goroutine at a time.
type Mask struct {
	model   *Model
	smeared []float64 // [22]
	loud    []float64 // powers of the bands with the noise inside the ear
	spread  []float64
	work    *spreading
}

// NewMask is the mask of a channel that nothing was heard of.
func NewMask(m *Model) *Mask {
	n := m.Bands()
	return &Mask{m, make([]float64, n), make([]float64, n), make([]float64, n), newSpreading(n)}
}

// Clone is a mask that has heard the same.
func (k *Mask) Clone() *Mask {
	c := NewMask(k.model)
	copy(c.smeared, k.smeared)
	return c
}

// Next sets threshold to the power that is masked in each band of the next window, whose bands have the
// powers. Both have as many values as there are bands. [22 to 25]
func (k *Mask) Next(threshold, powers []float64) {
	m := k.model
	for i, p := range powers[:len(k.loud)] {
		k.loud[i] = p + m.noise[i]
	}
	m.slopes.spread(k.spread, k.loud, k.work)
	for i, e := range k.spread {
		f := float64(m.stay[i]*k.smeared[i]) + float64((1-m.stay[i])*e)
		k.smeared[i] = f
		threshold[i] = max(f, e) * m.offset[i]
	}
}

// excitation is that of the last window, before the mask's offset.
func (k *Mask) excitation() []float64 {
	e := slices.Clone(k.spread)
	for i := range e {
		e[i] = max(e[i], k.smeared[i])
	}
	return e
}
