package stages

import (
	"ledgerline/stages/ear"
	"ledgerline/stages/fourier"
	"ledgerline/stages/kernel/spectra"
)

// A masker listens to a channel and has the pulses that its mask allows.
type masker struct {
	tools    *maskedTools
	mask     *ear.Mask
	analyser *ear.Analyser
	spectrum *ear.Spectrum
	powers   []float64

	heard []float64 // the window that is being filled
	next  int64     // number of the mask that is of it
	ring  []pulses

	plan        *fourier.Real // of a table
	amplitudes  []float64
	re, im, one []float64
}

// pulses are those around a mask of a number. Their table is made when it is asked for: rows of tools.width
// values, row r for a peak that lies (r-1)/tools.rows of a frame after a frame, from tools.before frames
// before that one.
type pulses struct {
	number int64
	masks  []float64 // thresholds of the bands
	table  []float64
	made   bool
}

func newMasker(t *maskedTools, inFlight int) *masker {
	n := t.model.Bands()
	m := &masker{
		tools: t, mask: ear.NewMask(t.model), analyser: ear.NewAnalyser(t.model),
		spectrum: ear.NewSpectrum(t.model),
		powers:   make([]float64, n), heard: make([]float64, 0, t.model.Window()),
		ring: make([]pulses, inFlight/t.hop+4),
		plan: fourier.NewReal(t.hop), amplitudes: make([]float64, t.hop/2+1),
		re: make([]float64, t.hop/2+1), im: make([]float64, t.hop/2+1), one: make([]float64, t.hop),
	}
	for i := range m.ring {
		m.ring[i] = pulses{number: -1, masks: make([]float64, n)}
	}
	m.heard = m.heard[:t.model.Window()/2] // silence before the track: mask 0 is centred on its first frame
	return m
}

// push hears the next frames.
func (m *masker) push(x []float64) {
	for len(x) > 0 {
		n := min(len(x), cap(m.heard)-len(m.heard))
		m.heard = append(m.heard, x[:n]...)
		x = x[n:]
		if len(m.heard) == cap(m.heard) {
			m.hear()
			m.heard = m.heard[:copy(m.heard, m.heard[m.tools.hop:])]
		}
	}
}

func (m *masker) hear() {
	p := &m.ring[m.next%int64(len(m.ring))]
	p.number, p.made = m.next, false
	m.next++
	m.analyser.Analyse(m.spectrum, m.heard)
	m.tools.model.Powers(m.powers, m.spectrum)
	m.mask.Next(p.masks, m.powers)
}

// end hears the silence after the track.
func (m *masker) end() {
	m.push(make([]float64, m.tools.model.Window()+m.tools.hop))
}

// at is the pulses of mask number n, with their table.
func (m *masker) at(n int64) *pulses {
	p := &m.ring[n%int64(len(m.ring))]
	if p.number != n {
		panic("stages: a mask that is not in flight")
	}
	if !p.made {
		m.makeTable(p)
	}
	return p
}

// makeTable makes one transform for each of the fractions up to half a frame: a pulse is alike on both sides.
func (m *masker) makeTable(p *pulses) {
	t := m.tools
	spectra.Log(p.masks, p.masks)
	t.amplitudes(m.amplitudes, p.masks)
	if p.table == nil { // the first of all
		n := len(t.window)
		all := make([]float64, len(m.ring)*n)
		for i := range m.ring {
			m.ring[i].table = all[i*n:][:n]
		}
	}
	scale := 0.0
	for q := range t.turnRe {
		turnRe, turnIm := t.turnRe[q], t.turnIm[q]
		for k, a := range m.amplitudes {
			m.re[k], m.im[k] = a*turnRe[k], a*turnIm[k]
		}
		m.plan.Inverse(m.one, m.re, m.im)
		if q == 0 {
			scale = 1 / m.one[0]
		}
		m.lay(p, 1+q, 0, -1, scale)
		m.lay(p, 1+t.rows-q, -1, 1, scale)
		if q <= 1 {
			m.lay(p, 1-q, 0, 1, scale)
			m.lay(p, 1+t.rows+q, -1, -1, scale)
		}
	}
	p.made = true
}

// lay makes a row of the values of a transform, in their order or back, so many frames on.
func (m *masker) lay(p *pulses, row, frames, sign int, scale float64) {
	t := m.tools
	to, window := p.table[row*t.width:][:t.width], t.window[row*t.width:][:t.width]
	n := sign * (frames - t.before)
	for c, w := range window {
		to[c] = m.one[n&(len(m.one)-1)] * scale * w
		n += sign
	}
}

// value is how high a pulse is at a time in frames from its peak, within its reach. Between the values of the
// table it is had by a straight line, which depends on the time alone.
func (p *pulses) value(t *maskedTools, at float64) float64 {
	v := float64((at + float64(t.before)) * float64(t.rows))
	i := int(v)
	f := v - float64(i)
	c := (i + t.rows - 1) / t.rows
	r := c*t.rows - i + 1
	a := p.table[r*t.width+c]
	if r > 1 {
		r--
	} else {
		r, c = t.rows, c+1
	}
	b := p.table[r*t.width+c]
	return a + float64(f*(b-a))
}
