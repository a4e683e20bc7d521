package ear

import (
	"ledgerline/stages/fourier"
	"ledgerline/stages/kernel/spectra"
)

// A Spectrum is what is heard of one window of a signal, at bins 0 to half the window. Its memory is used
// again.
type Spectrum struct{ re, im, powers []float64 }

// NewSpectrum is memory for a spectrum.
func NewSpectrum(m *Model) *Spectrum {
	n := m.window/2 + 1
	return &Spectrum{make([]float64, n), make([]float64, n), make([]float64, n+3)} // bands take bins by fours
}

// An Analyser turns windows into spectra. It serves one goroutine at a time.
type Analyser struct {
	model *Model
	plan  *fourier.Real
}

// NewAnalyser makes one.
func NewAnalyser(m *Model) *Analyser {
	return &Analyser{m, fourier.NewReal(m.window)}
}

// Analyse sets s to the spectrum of a window. It panics if there are fewer samples.
func (a *Analyser) Analyse(s *Spectrum, window []float64) {
	a.plan.ForwardTapered(s.re, s.im, window, a.model.taper)
	spectra.Squares(s.powers[:len(s.re)], s.re, s.im)
}

// Powers sets powers to those of the bands, weighted as the ear does, at least 1e-12. [2.1.4, 2.1.5.1]
func (m *Model) Powers(powers []float64, s *Spectrum) { m.inBands(powers, s.powers) }

// A Noise finds what was done to a signal, window by window. It serves one goroutine at a time.
type Noise struct {
	model *Model
	bins  []float64 // as far as there are bands
}

// NewNoise makes one.
func NewNoise(m *Model) *Noise { return &Noise{m, make([]float64, m.shares.bins)} }

// OfMagnitudes sets powers to those, in the bands, of the difference of the magnitudes before and after. [62]
func (n *Noise) OfMagnitudes(powers []float64, before, after *Spectrum) {
	spectra.Roots(n.bins, before.powers, after.powers)
	n.model.inBands(powers, n.bins)
}

// OfWaveforms sets powers to those, in the bands, of the difference of the signals before and after.
func (n *Noise) OfWaveforms(powers []float64, before, after *Spectrum) {
	for k := range min(len(n.bins), len(before.re)) {
		re, im := after.re[k]-before.re[k], after.im[k]-before.im[k]
		n.bins[k] = float64(re*re) + float64(im*im)
	}
	n.model.inBands(powers, n.bins)
}
