package ear

import (
	"math"

	"ledgerline/stages/kernel/spectra"
)

// hear reads the window.
func (r *Reader) hear() {
	audible := r.audible()
	r.begun = r.begun || audible
	for s := range r.signals {
		for c := range r.signals[s] {
			r.signals[s][c].known = false
		}
	}
	for c := range r.masks {
		r.model.Powers(r.programme, r.spectrum(0, c))
		r.masks[c].Next(r.threshold, r.programme)
		for i := range r.scores {
			r.compare(i, c)
		}
	}
	if audible {
		for i := range r.scores {
			for c := range r.scores[i] {
				r.scores[i][c].heard()
			}
			r.moments[i].heard()
		}
	}
}

// spectrum is that of a channel of a signal, made once a window, and not at all where the signal before has
// the same samples.
func (r *Reader) spectrum(s, c int) *Spectrum {
	g := &r.signals[s][c]
	if !g.known && s > 0 && !spectra.Differ(r.signals[s-1][c].x, g.x) {
		return r.spectrum(s-1, c)
	}
	if !g.known {
		r.analyser.Analyse(g.spectrum, g.x)
		g.known = true
	}
	return g.spectrum
}

// compare finds the noise of a comparison in a channel. Where the signals are equal there is none.
func (r *Reader) compare(i, c int) {
	what := r.o.Comparisons[i]
	w := Window{
		Comparison: i, Channel: c, Frame: r.window * int64(r.model.hop), Programme: r.programme, Mask: r.threshold,
	}
	before, after := r.signals[what.Before][c].x, r.signals[what.After][c].x
	if spectra.Differ(before, after) {
		if what.Waveform {
			r.noise.OfWaveforms(r.powers, r.spectrum(what.Before, c), r.spectrum(what.After, c))
		} else {
			r.noise.OfMagnitudes(r.powers, r.spectrum(what.Before, c), r.spectrum(what.After, c))
		}
		w.Mean, w.Most, w.Band = ratios(r.powers, r.threshold)
		w.Noise = r.powers
	}
	if r.begun {
		r.scores[i][c].add(r.window, w.Mean, w.Most)
		if w.Most > 1 {
			r.moments[i].meet(over{w.Frame + int64(furthest(before, after)), w.Most, c, w.Band})
		}
	}
	if r.o.EachWindow != nil {
		r.o.EachWindow(w)
	}
}

// ratios are the mean and the largest ratio of noise to mask, and the band of the latter. [70]
func ratios(noise, mask []float64) (mean, most float64, band int) {
	sum := 0.0
	for k, n := range noise {
		q := n / mask[k]
		sum += q
		if q > most {
			most, band = q, k
		}
	}
	return sum / float64(len(noise)), most, band
}

// furthest is where the samples differ most.
func furthest(x, y []float64) int {
	most, at := -1.0, 0
	for i, v := range x {
		if d := math.Abs(v - y[i]); d > most {
			most, at = d, i
		}
	}
	return at
}

// audible tells whether signal 0 is heard in the window: whether five samples of a channel on end have
// magnitudes that add to more than 200 units of 16 bits. [5.2.4.4]
func (r *Reader) audible() bool {
	const enough = 200.0 / 32768
	for _, s := range r.signals[0] {
		x := s.x
		// From the end, where music that goes on is found at once.
		for i := len(x) - 5; i >= 0; i-- {
			y := (*[5]float64)(x[i:])
			if math.Abs(y[0])+math.Abs(y[1])+math.Abs(y[2])+math.Abs(y[3])+math.Abs(y[4]) > enough {
				return true
			}
		}
	}
	return false
}
