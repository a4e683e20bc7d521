package stages_test

import (
	"math"
	"testing"

	"ledgerline/stages"
	"ledgerline/stages/ear"
	"ledgerline/stages/stagetest/long"

	"gonum.org/v1/gonum/dsp/fourier"
)

// wholeMasked is the masked clip at 44.1 kHz, written down from its formulas for a whole track at once: on
// values at 16 times the rate from a Fourier transform, with no tiles, no tables of fractions and nothing
// left out. Only the mask of package ear is the stage's.
type wholeMasked struct {
	per    int         // values a frame
	y      []float64   // the signal at that rate
	pulses [][]float64 // one side of each mask's pulse, finely, without its window
	aim    float64
}

const wholeFine = 64 // values a frame of a pulse

func newWholeMasked(x []float64, ceiling, temper, guardHz float64) *wholeMasked {
	w := &wholeMasked{per: 16, aim: ceiling * math.Pow(10, -0.03/20)}
	c := fourier.NewFFT(len(x)).Coefficients(nil, x)
	n := len(x) * w.per
	more := make([]complex128, n/2+1)
	for k, v := range c[:len(c)-1] {
		more[k] = v / complex(float64(len(x)), 0)
	}
	w.y = fourier.NewFFT(n).Sequence(nil, more)
	m := ear.NewModel(44100, 512, 92)
	mask, analyser, spectrum := ear.NewMask(m), ear.NewAnalyser(m), ear.NewSpectrum(m)
	powers, threshold, window := make([]float64, m.Bands()), make([]float64, m.Bands()), make([]float64, 2048)
	for f := 0; f*512 < len(x)+512; f++ {
		for i := range window {
			window[i] = 0
			if at := f*512 - 1024 + i; at >= 0 && at < len(x) {
				window[i] = x[at]
			}
		}
		analyser.Analyse(spectrum, window)
		m.Powers(powers, spectrum)
		mask.Next(threshold, powers)
		w.pulses = append(w.pulses, wholePulse(m, threshold, temper, guardHz))
	}
	return w
}

// wholePulse is one side of the pulse at a mask: zero phase, its amplitude the mask over the outer ear's
// weight to the power of the temper.
func wholePulse(m *ear.Model, threshold []float64, temper, guardHz float64) []float64 {
	bark := func(hz float64) float64 { return 7 * math.Asinh(hz/650) }
	db := make([]float64, 257)
	highest := math.Inf(-1)
	for k := range db {
		hz := float64(k) * 44100 / 512
		z := bark(hz)
		i := 0
		for i < m.Bands()-2 && bark(m.Band(i+1).Centre) <= z {
			i++
		}
		a, b := bark(m.Band(i).Centre), bark(m.Band(i+1).Centre)
		t := math.Min(math.Max((z-a)/(b-a), 0), 1)
		khz := math.Max(hz, 60) / 1000
		weight := -0.6*3.64*math.Pow(khz, -0.8) + 6.5*math.Exp(-0.6*(khz-3.3)*(khz-3.3)) -
			0.001*math.Pow(math.Min(khz, 16), 3.6)
		db[k] = (1-t)*10*math.Log10(threshold[i]) + t*10*math.Log10(threshold[i+1]) - math.Max(weight, -25)
		if hz >= 100 && hz <= 16000 {
			highest = math.Max(highest, db[k])
		}
	}
	one := make([]float64, 257*wholeFine)
	for k := 1; k < len(db); k++ {
		hz := float64(k) * 44100 / 512
		a := math.Pow(10, temper*(math.Max(db[k], highest-60)-highest)/10) / (1 + math.Pow(guardHz/hz, 4))
		switch top := 0.45 * 44100; {
		case hz >= top:
			a = 0
		case hz > 16000:
			a *= 0.5 + 0.5*math.Cos(math.Pi*(hz-16000)/(top-16000))
		}
		if a == 0 {
			continue
		}
		// Chebyshev's recurrence: cos((i+1)x) = 2 cos(x) cos(ix) - cos((i-1)x).
		x := 2 * math.Pi * float64(k) / 512 / wholeFine
		before, here, twice := math.Cos(x), 1.0, 2*math.Cos(x)
		for i := range one {
			one[i] += a * here
			before, here = here, twice*here-before
		}
	}
	for i := len(one) - 1; i >= 0; i-- {
		one[i] /= one[0]
	}
	return one
}

// pulse is how high the pulse of a peak is at a time from it, both in frames.
func (w *wholeMasked) pulse(at, from float64) float64 {
	reach := math.Floor(0.0029 * 44100)
	if from >= 0 {
		reach = math.Floor(0.00435 * 44100)
	}
	r := math.Abs(from)
	if r >= reach {
		return 0
	}
	one := w.pulses[max(0, int(math.Floor(at/512+0.5)))]
	i := int(r * wholeFine)
	f := r*wholeFine - float64(i)
	x := r / reach
	return (one[i] + f*(one[i+1]-one[i])) * (1 - x*x*x*x*(35-84*x+70*x*x-20*x*x*x))
}

// pass cuts every peak over the aim, all from the state before it.
func (w *wholeMasked) pass(step float64) {
	var at, over []float64
	for i := 1; i < len(w.y)-1; i++ {
		b := math.Abs(w.y[i])
		a, d := math.Copysign(w.y[i-1], w.y[i]*w.y[i-1]), math.Copysign(w.y[i+1], w.y[i]*w.y[i+1])
		if b < 0.9*w.aim || !(b >= a && b > d) {
			continue
		}
		o := 0.5 * (a - d) / (a - 2*b + d)
		if h := b - 0.25*(a-d)*o; h > w.aim {
			at, over = append(at, (float64(i)+o)/float64(w.per)), append(over, math.Copysign(h-w.aim, w.y[i]))
		}
	}
	cut := make([]float64, len(at))
	for j := range at {
		sum := 0.0
		for k := range at {
			if at[k] > at[j]-200 && at[k] < at[j]+200 {
				sum += over[k] * w.pulse(at[k], at[j]-at[k])
			}
		}
		cut[j] = step * over[j] * math.Abs(over[j]) / math.Max(math.Abs(over[j]), sum*math.Copysign(1, over[j]))
	}
	for j := range at {
		for i := max(0, int((at[j]-128)*float64(w.per))); i < min(len(w.y), int((at[j]+193)*float64(w.per))); i++ {
			w.y[i] -= cut[j] * w.pulse(at[j], float64(i)/float64(w.per)-at[j])
		}
	}
}

// The stage, which streams, does what its formulas say of a whole track.
func TestMaskedClipIsTheWholeIteration(t *testing.T) {
	frames := long.Or(2800, 24000)
	cases := []struct {
		name     string
		x        []float64
		drive    float64
		distance float64 // of what is removed, dB, at most
	}{
		{"01 quay", mix(t, "01 quay", 0)[10000:][:frames], 6, -45},
		{"02 breakwater", mix(t, "02 breakwater", 1)[10000:][:frames], 9, -45},
		{"03 lantern", mix(t, "03 lantern", 0)[10000:][:frames], 6, -45},
	}
	for _, c := range long.Or(cases[1:2], cases) {
		for i := range c.x { // silent ends, so that the transform sees no jump
			c.x[i] *= gate(i, 1000, frames-1000)
		}
		x := driven(c.x, c.drive)
		w := newWholeMasked(x, 1, 0.6, 100)
		for n := range 16 {
			w.pass(0.3 + 0.7*float64(n*n)/225)
		}
		y := oneChannel(maskedClipAt(0), x...)
		off, removed := 0.0, 0.0
		for i := range x {
			off += (y[i] - w.y[i*w.per]) * (y[i] - w.y[i*w.per])
			removed += (x[i] - y[i]) * (x[i] - y[i])
		}
		if got := 10 * math.Log10(off/removed); !(got < c.distance) {
			t.Errorf("%s: what is removed differs by %.1f dB, want %v", c.name, got, c.distance)
		} else {
			t.Logf("%s: %.1f dB, removed %.1f dB of %v", c.name, got, 10*math.Log10(removed), stages.DB(samplePeak(y)))
		}
	}
}
