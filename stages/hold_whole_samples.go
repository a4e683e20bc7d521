package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// leastOfSample is the least that the pulses near a sample count for, of what it is over, when it is cut: a pulse for each sample of a tone
// near half the rate takes off a part of the tone only, as the pulse's band ends before it: 0.56 at 19.5 kHz, 0.24 at 20 and
// 0.09 at 20.4.
const leastOfSample = 0.2

// holdSamples takes the samples of the first hop down that are over.
func (w *wholeBand) holdSamples() {
	stretch := w.raw[w.at:][:wholeFrames]
	part := stretch[hop/2-wholeFinal : hop/2+hop+wholeFinal]
	for range wholeWork {
		if !w.lowerSamples(stretch) {
			return
		}
		w.trim(part, w.at+hop/2-wholeFinal)
	}
}

// lowerSamples is one pass at it, and reports whether a sample was over.
func (w *wholeBand) lowerSamples(stretch []float64) bool {
	w.peaks = w.peaks[:0]
	for n := hop/2 - wholeAgain; n < hop/2+hop+tile; n++ {
		v := math.Abs(stretch[n])
		if v > w.ceiling && isPeak(stretch, n) {
			w.peaks = append(w.peaks, bandlimit.Top{At: float64(2 * n), Height: stretch[n]})
		}
	}
	aim := w.ceiling * Linear(-wholeAim)
	w.pulses = w.pulses[:0]
	for i, p := range w.peaks {
		w.pulses = append(w.pulses, bandlimit.Pulse{At: p.At, Height: w.cut(i, aim, leastOfSample)})
	}
	for _, p := range w.pulses {
		bandlimit.TakePulse(stretch, int(p.At)/2, p.Height)
	}
	return len(w.pulses) > 0
}

// isPeak reports whether frame n is as high as those beside it, on its side of zero.
func isPeak(x []float64, n int) bool {
	sign := math.Copysign(1, x[n])
	return sign*x[n] >= sign*x[n-1] && sign*x[n] > sign*x[n+1]
}
