package stages

import (
	"slices"
	"sync"

	"ledgerline/stages/ear"
	"ledgerline/stages/fourier"
	"ledgerline/stages/kernel/spectra"
)

// A masker listens to a channel and has the pulses that its mask allows.
type masker struct {
	tools *maskedTools
	mask  *ear.Mask

	heard []float64 // the window that is being filled
	next  int64     // number of the mask that is of it
	ring  []pulses

	// Tables of the masks in whose reach there are peaks, which are fewer than the masks in flight: that of mask
	// n is tables[n % len(tables)].
	tables [][]float64
	owners []int64 // the masks that they are of, -1: none
}

// A maskBench is what a masker needs while it makes a mask or a table, and nothing of it is kept in between.
type maskBench struct {
	analyser *ear.Analyser
	spectrum *ear.Spectrum
	powers   []float64

	plan        *fourier.Real // of a table
	amplitudes  []float64
	re, im, one []float64
}

func newMaskBench(t *maskedTools) *maskBench {
	return &maskBench{
		analyser: ear.NewAnalyser(t.model), spectrum: ear.NewSpectrum(t.model),
		powers: make([]float64, t.model.Bands()),
		plan:   fourier.NewReal(t.hop), amplitudes: make([]float64, t.hop/2+1),
		re: make([]float64, t.hop/2+1), im: make([]float64, t.hop/2+1), one: make([]float64, t.hop),
	}
}

// maskBenches are those that no channel has at the moment: as many are made as channels work at once.
type maskBenches struct {
	mutex sync.Mutex
	free  []*maskBench
}

func (b *maskBenches) take(t *maskedTools) *maskBench {
	b.mutex.Lock()
	defer b.mutex.Unlock()
	last := len(b.free) - 1
	if last < 0 {
		return newMaskBench(t)
	}
	bench := b.free[last]
	b.free = b.free[:last]
	return bench
}

func (b *maskBenches) put(bench *maskBench) {
	b.mutex.Lock()
	defer b.mutex.Unlock()
	b.free = append(b.free, bench)
}

// pulses are those around a mask of a number. Their table is made when it is asked for, and gone when that of
// a later mask needs its place: rows of tools.width values, row r for a peak that lies (r-1)/tools.rows of a
// frame after a frame, from tools.before frames before that one.
type pulses struct {
	number int64
	masks  []float64 // thresholds of the bands
	table  []float64
	made   bool
}

// newMasker makes one of which so many frames are in flight, and peaks in so many of these at most.
func newMasker(t *maskedTools, inFlight, withPeaks int) *masker {
	n := t.model.Bands()
	m := &masker{
		tools: t, mask: ear.NewMask(t.model), heard: make([]float64, 0, t.model.Window()),
		ring:   make([]pulses, inFlight/t.hop+4),
		tables: make([][]float64, withPeaks/t.hop+2), owners: slices.Repeat([]int64{-1}, withPeaks/t.hop+2),
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
	p.number, p.made, p.table = m.next, false, nil
	m.next++
	b := m.tools.benches.take(m.tools)
	b.analyser.Analyse(b.spectrum, m.heard)
	m.tools.model.Powers(b.powers, b.spectrum)
	m.mask.Next(p.masks, b.powers)
	m.tools.benches.put(b)
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
	b := t.benches.take(t)
	defer t.benches.put(b)
	t.amplitudes(b.amplitudes, p.masks)
	m.place(p)
	scale := 0.0
	for q := range t.turnRe {
		turnRe, turnIm := t.turnRe[q], t.turnIm[q]
		for k, a := range b.amplitudes {
			b.re[k], b.im[k] = a*turnRe[k], a*turnIm[k]
		}
		b.plan.Inverse(b.one, b.re, b.im)
		if q == 0 {
			scale = 1 / b.one[0]
		}
		t.lay(p, b.one, 1+q, 0, -1, scale)
		t.lay(p, b.one, 1+t.rows-q, -1, 1, scale)
		if q <= 1 {
			t.lay(p, b.one, 1-q, 0, 1, scale)
			t.lay(p, b.one, 1+t.rows+q, -1, -1, scale)
		}
	}
	p.made = true
}

// place finds a place for a table.
func (m *masker) place(p *pulses) {
	if m.tables[0] == nil { // the first of all
		n := len(m.tools.window)
		all := make([]float64, len(m.tables)*n)
		for i := range m.tables {
			m.tables[i] = all[i*n:][:n]
		}
	}
	slot := p.number % int64(len(m.tables))
	if owner := m.owners[slot]; owner >= 0 {
		if last := &m.ring[owner%int64(len(m.ring))]; last.number == owner {
			last.table = nil // nothing may ask for it any more
		}
	}
	m.owners[slot], p.table = p.number, m.tables[slot]
}

// lay makes a row of the values of a transform, in their order or back, so many frames on.
func (t *maskedTools) lay(p *pulses, one []float64, row, frames, sign int, scale float64) {
	to, window := p.table[row*t.width:][:t.width], t.window[row*t.width:][:t.width]
	n := sign * (frames - t.before)
	for c, w := range window {
		to[c] = one[n&(len(one)-1)] * scale * w
		n += sign
	}
}

// value is how high a pulse is at a time in frames from its peak, within its reach. Between the values of the
// table it is had by a straight line, which depends on the time alone.
func (p *pulses) value(t *maskedTools, at float64) float64 {
	v := float64((at + float64(t.before)) * float64(t.rows))
	i := int(v)
	f := v - float64(i)
	c := (i + t.rows - 1) >> t.shift
	r := c<<t.shift - i + 1
	a := p.table[r*t.width+c]
	if r > 1 {
		r--
	} else {
		r, c = t.rows, c+1
	}
	b := p.table[r*t.width+c]
	return a + float64(f*(b-a))
}
