package stages

import (
	"math"
	"math/bits"

	"ledgerline/stages/ear"
	"ledgerline/stages/kernel/spectra"
	"ledgerline/stages/portable"
)

// leastWindow is that of the ear at the lowest rates.
const leastWindow = 2048

// What a masked clip's pulses are like.
const (
	pulseBeforeMS = 2.9   // nothing is removed earlier than this before a peak
	pulseAfterMS  = 4.35  // nor later than this after it
	pulseRows     = 16    // table rows a frame, up to 50 kHz; as many a second at higher rates
	maskDepthDB   = 60    // what the mask of a frequency counts with at least, below the highest
	fadeFromHz    = 16000 // from here to fadeToHz the pulses fall to nothing
	fadeToHz      = 20000 // or to fadeToShare of the rate where that is lower
	fadeToShare   = 0.45  //
	fadeWidthHz   = 3000  // the least that there is between the two
	floorFromHz   = 100   // the highest mask is sought from here up to fadeFromHz
)

// maskedTools are what the channels of a masked clip share. Only the benches ever change.
type maskedTools struct {
	benches maskBenches

	model *ear.Model
	hop   int // frames from one mask to the next, of which mask f is centred on frame f*hop

	before, after int // reach of a pulse, frames
	width         int // of a table's row
	rows          int // of a table there are for each frame, and three more
	shift         int // two to its power are rows
	temper        float64

	// Of each bin of the pulses' spectrum:
	from        []int     // the band whose centre lies below it
	share       []float64 // how far it lies towards the centre of the next one, by pitch
	ear         []float64 // natural logarithm of the power that the outer ear lets through
	pass        []float64 // what guard and fade leave of the amplitude
	first, last int       // bins among which the highest mask is sought

	window []float64 // of a table
	// turnRe and turnIm move a pulse q/rows of a frame back, for each q up to half a frame.
	turnRe, turnIm [][]float64
}

func newMaskedTools(rate int, levelDBSPL, temper, guardHz float64) *maskedTools {
	window := ear.WindowFrames(rate)
	t := &maskedTools{
		model: ear.NewModel(rate, window/4, levelDBSPL), hop: window / 4, temper: temper,
		before: int(float64(rate) * (pulseBeforeMS / 1000)), after: int(float64(rate) * (pulseAfterMS / 1000)),
	}
	t.rows = pulseRows * leastWindow / window
	t.shift = bits.TrailingZeros(uint(t.rows))
	t.width = (t.before + t.after + 2 + 7) &^ 7
	t.layBins(guardHz)
	t.layWindow()
	for q := range t.rows/2 + 1 {
		re, im := make([]float64, t.hop/2+1), make([]float64, t.hop/2+1)
		for k := range re {
			x := 2 * float64(k*q) / float64(t.hop*t.rows)
			re[k], im[k] = portable.CosPi(x), portable.SinPi(x)
		}
		t.turnRe, t.turnIm = append(t.turnRe, re), append(t.turnIm, im)
	}
	return t
}

// layBins finds what does not change of the spectrum.
func (t *maskedTools) layBins(guardHz float64) {
	rate := float64(t.model.Rate())
	n := t.hop // bins are as far apart as in a transform of so many values
	to := min(fadeToHz, fadeToShare*rate)
	from := min(fadeFromHz, to-fadeWidthHz)
	band := 0
	for k := range n/2 + 1 {
		hz := float64(k) * rate / float64(n)
		z := ear.Bark(hz)
		for band < t.model.Bands()-2 && t.model.Band(band+1).Centre <= hz {
			band++
		}
		low, high := ear.Bark(t.model.Band(band).Centre), ear.Bark(t.model.Band(band+1).Centre)
		t.from = append(t.from, band)
		t.share = append(t.share, min(max((z-low)/(high-low), 0), 1))
		t.ear = append(t.ear, ear.OuterDB(hz)*(math.Ln10/10))
		pass := 0.0
		if k > 0 && hz < to {
			r := guardHz / hz
			pass = 1 / (1 + float64(float64(r*r)*float64(r*r)))
			if hz > from {
				pass *= 0.5 + float64(0.5*portable.CosPi((hz-from)/(to-from)))
			}
		}
		t.pass = append(t.pass, pass)
		if hz < floorFromHz {
			t.first = k + 1
		}
		if hz <= from {
			t.last = k
		}
	}
}

// smooth rises from 0 at 0 to 1 at 1 by the polynomial of which three derivatives are 0 at both. A raised
// cosine's second derivative jumps at the peak where the sides are not alike, which aliased (10 kHz, 6 dB
// over: 113 dB instead of 133).
func smooth(x float64) float64 {
	square := float64(x * x)
	return float64(float64(square*square) * (35 - float64(x*(84-float64(x*(70-float64(20*x)))))))
}

// layWindow makes the window that ends a pulse on either side, of value 1 and without slope at its peak.
func (t *maskedTools) layWindow() {
	t.window = make([]float64, (t.rows+3)*t.width)
	for i := range t.window {
		at := float64(i%t.width-t.before) - float64(i/t.width-1)/float64(t.rows)
		reach := float64(t.after)
		if at < 0 {
			reach = float64(t.before)
		}
		if math.Abs(at) < reach {
			t.window[i] = 1 - smooth(math.Abs(at)/reach)
		}
	}
}

// amplitudes sets a to the spectrum of a pulse at masks of the bands, as natural logarithms of powers.
func (t *maskedTools) amplitudes(a, masks []float64) {
	highest := math.Inf(-1)
	for k := range a {
		b, s := t.from[k], t.share[k]
		a[k] = masks[b] + float64(s*(masks[b+1]-masks[b])) - t.ear[k]
		if k >= t.first && k <= t.last {
			highest = max(highest, a[k])
		}
	}
	for k := range a {
		a[k] = t.temper * max(a[k]-highest, -maskDepthDB*(math.Ln10/10))
	}
	spectra.Exp(a, a)
	for k := range a {
		a[k] *= t.pass[k]
	}
}
