package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// leastOfSample is the least that the pulses near a sample count for, of what it is over, when it is cut: a pulse for each sample of a tone
// near half the rate takes off a part of the tone only, as the pulse's band ends before it: 0.56 at 19.5 kHz, 0.24 at 20 and
// 0.09 at 20.4.
const leastOfSample = 0.2

// holdSamples takes the samples of the first hop down that are over, of all linked channels.
func (w *wholeBand) holdSamples() {
	for range wholeWork {
		found := false
		for _, o := range w.linked {
			found = o.findSamples() || found
		}
		if !found {
			return
		}
		w.cutAll(w.ceiling*Linear(-wholeAim), leastOfSample, (*wholeBand).sampleAt)
		for _, o := range w.linked {
			for _, p := range o.pulses {
				bandlimit.TakePulse(o.raw[o.at:][:wholeFrames], int(p.At)/2, p.Height)
			}
			o.trim(o.part(), o.at+hop/2-wholeFinal)
		}
	}
}

// findSamples finds the samples that are over, and reports whether there is one.
func (w *wholeBand) findSamples() bool {
	w.peaks = w.peaks[:0]
	stretch := w.raw[w.at:][:wholeFrames]
	for n := hop/2 - wholeAgain; n < hop/2+hop+tile; n++ {
		if math.Abs(stretch[n]) > w.ceiling && isPeak(stretch, n) {
			w.peaks = append(w.peaks, bandlimit.Top{At: float64(2 * n), Height: stretch[n]})
		}
	}
	return len(w.peaks) > 0
}

// sampleAt is the sample at a place that is one.
func (w *wholeBand) sampleAt(at float64) float64 { return w.raw[w.at+int(at)/2] }

// input sets x to what came in from a frame on.
func (w *wholeBand) input(x []float64, frame int64) {
	came := w.came[w.first:]
	for i := range x {
		x[i] = 0
		if n := frame + int64(i) - w.out; frame+int64(i) >= 0 && n < int64(len(came)) {
			x[i] = came[n]
		}
	}
}

// restore undoes what the holder has done in the hop that has just been judged, where much is to be taken away near half the rate: what
// its pulses have made of that would be left.
func (w *wholeBand) restore(cut topCut) {
	if !w.samples || cut.high == 0 {
		return
	}
	from := w.at + 2*hop + hop/2 - topFade
	x := w.raw[from:][:hop+2*topFade]
	w.upper = w.upper[:len(x)]
	w.input(w.upper, w.start+int64(from))
	for i := range x {
		fade := bandlimit.Rise(min(float64(i)+0.5, float64(len(x)-i)-0.5) / topFade)
		x[i] += float64(fade * (w.upper[i] - x[i]))
	}
}

// isPeak reports whether frame n is as high as those beside it, on its side of zero.
func isPeak(x []float64, n int) bool {
	sign := math.Copysign(1, x[n])
	return sign*x[n] >= sign*x[n-1] && sign*x[n] > sign*x[n+1]
}
