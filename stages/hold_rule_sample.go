package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// leastOfSample is the least that the pulses near a sample count for, of what it is over, when it is cut in
// the whole band. A pulse for each sample of a tone near half the rate takes off a part of the tone only, as
// the pulse's band ends before it: 0.56 at 19.5 kHz, 0.24 at 20 and 0.09 at 20.4.
const leastOfSample = 0.2

// samplesAgain is how many frames back what pulses do near the end of a hop is looked at again in the next.
const samplesAgain = 2 * tile

// isPeak reports whether frame n is as high as those beside it, on its side of zero.
func isPeak(x []float64, n int) bool {
	sign := math.Copysign(1, x[n])
	return sign*x[n] >= sign*x[n-1] && sign*x[n] > sign*x[n+1]
}

// findSample takes the sample peaks of a tile down to the aim of a pass.
func (h *holder) findSample(p *pass, t int) {
	h.sees(p, t)
	x := h.in.Signal()
	for n := t*tile - 1; n < (t+1)*tile-1; n++ {
		if over := math.Abs(x[n]) - p.aim; over > 0 && isPeak(x, n) {
			h.cutSample(n, math.Copysign(over, x[n]))
		}
	}
}

// cutSample takes a pulse off a frame.
func (h *holder) cutSample(n int, height float64) {
	first, last, _ := h.in.SubtractAt(n, height)
	for k := first; k <= last; k++ {
		h.risen[k] += math.Abs(height)
	}
}

// findSample takes the sample peaks of a tile down to the aim of a pass. At each frame every channel loses
// the same part of its sample, as large as the largest peak there needs.
func (l *holdLink) findSample(pass, t int) {
	for _, h := range l.each {
		h.sees(&h.passes[pass], t)
	}
	aim := l.each[0].passes[pass].aim
	for n := t*tile - 1; n < (t+1)*tile-1; n++ {
		most := aim
		for _, h := range l.each {
			if v := math.Abs(h.in.Signal()[n]); v > most && isPeak(h.in.Signal(), n) {
				most = v
			}
		}
		if most == aim {
			continue
		}
		part := (most - aim) / most
		for _, h := range l.each {
			if cut := float64(part * h.in.Signal()[n]); cut != 0 {
				h.cutSample(n, cut)
			}
		}
	}
}

// holdSamples takes the samples of the first hop down that are over, of all linked channels.
func (w *wholeBand) holdSamples() {
	aim := w.ceiling * Linear(-wholeAim)
	for range wholeWork {
		found := false
		for _, o := range w.linked {
			found = o.findSamples(aim) || found
		}
		if !found {
			return
		}
		w.cutAll(aim, leastOfSample, (*wholeBand).sampleAt)
		for _, o := range w.linked {
			for _, p := range o.pulses {
				bandlimit.TakePulse(o.raw[o.at:][:wholeFrames], int(p.At)/2, p.Height)
			}
			o.trim(o.part(), o.at+hop/2-wholeFinal)
		}
	}
}

// findSamples finds the samples that are over, which are to come down to an aim, and reports whether there is
// one.
func (w *wholeBand) findSamples(aim float64) bool {
	w.peaks = w.peaks[:0]
	stretch := w.raw[w.at:][:wholeFrames]
	for n := hop/2 - samplesAgain; n < hop/2+hop+tile; n++ {
		if math.Abs(stretch[n]) > w.ceiling && isPeak(stretch, n) {
			w.peaks = append(w.peaks, bandlimit.Found{
				Top: bandlimit.Top{At: float64(2 * n), Height: stretch[n]}, Level: aim,
			})
		}
	}
	return len(w.peaks) > 0
}

// sampleAt is the sample at a place that is one.
func (w *wholeBand) sampleAt(at float64) float64 { return w.raw[w.at+int(at)/2] }
