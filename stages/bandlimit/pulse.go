package bandlimit

import (
	"sync"

	"ledgerline/stages/kernel"
)

// A pulse is the shortest thing that can be taken from a signal without adding
// anything beyond the band: a sinc under a Kaiser window that passes 18.5/44.1 of the
// rate and has fallen by 110 dB at 21.5/44.1, scaled to 1 at its peak. It can stand
// anywhere between two samples.
const (
	pulseSide = 56 // frames to either side
	pulseRows = 16 // table rows a value of the interpolated signal
	pulseRate = 4  // values a frame
	pulseBand = 40.0 / 44.1
	pulseBeta = 11.0
)

// pulses[s] has a row for each fraction: row r is the pulse at k-pulseSide + s/4
// frames, k = 0, 1, ..., from a peak that lies (r-1)/pulseRows of a value behind a value.
var pulses = sync.OnceValue(newPulses)

func newPulses() (t [pulseRate][]float64) {
	for s := range t {
		t[s] = make([]float64, (pulseRows+3)*2*pulseSide)
		for i := range t[s] {
			row, k := i/(2*pulseSide), i%(2*pulseSide)
			at := float64(k-pulseSide) + (float64(s)-float64(row-1)/pulseRows)/pulseRate
			t[s][i] = sinc(at*pulseBand) * kaiser(at/pulseSide, pulseBeta)
		}
	}
	return t
}

// Subtract takes a pulse of height a off the signal, its peak at a fraction
// 0..1 of a value behind value m, and returns the first and the last tile it
// touches. The interpolator's factor is 4.
func (ip *Interpolator) Subtract(m int, fraction, a float64) (first, last int) {
	at := fraction * pulseRows
	row := min(int(at), pulseRows-1)
	w := cubic(at - float64(row))
	for i := range w {
		w[i] *= -a
	}
	frame, phase := m/pulseRate, m%pulseRate
	for s := range pulseRate {
		q := phase + s
		y := ip.phases[q%pulseRate][frame+q/pulseRate-pulseSide:][:2*pulseSide]
		kernel.AddScaledRows(y, pulses()[s][row*len(y):], len(y), &w)
	}
	return ip.touched(frame)
}

// SubtractAt takes a pulse of height a, its peak at a frame, off the signal, and
// leaves the values between the samples to be filled in again.
func (ip *Interpolator) SubtractAt(frame int, a float64) (first, last int) {
	kernel.AddScaled(ip.phases[0][frame-pulseSide:], pulses()[0][2*pulseSide:4*pulseSide], -a)
	first, last = ip.touched(frame)
	clear(ip.done[first : last+1])
	return first, last
}

// touched books the tiles that a pulse at frame reaches as changed. Where not all levels
// were filled they are filled in again when asked for.
func (ip *Interpolator) touched(frame int) (first, last int) {
	first, last = (frame-pulseSide)/Tile, (frame+pulseSide)/Tile
	for t := first; t <= last; t++ {
		ip.forget(t, int(ip.done[t]) < ip.levels)
	}
	if frame-pulseSide < ip.first || frame+pulseSide >= ip.end {
		ip.trim(frame)
		first, last = first-dependence, last+dependence
	}
	return first, last
}

// trim cuts a pulse at frame off where the track begins or ends.
func (ip *Interpolator) trim(frame int) {
	if n := ip.first - (frame - pulseSide); n > 0 {
		clear(ip.phases[0][frame-pulseSide:][:n])
	}
	if n := frame + pulseSide + 1 - ip.end; n > 0 {
		clear(ip.phases[0][frame+pulseSide+1-n:][:n])
	}
	for t := (frame-pulseSide)/Tile - dependence; t <= (frame+pulseSide)/Tile+dependence; t++ {
		ip.forget(t, true)
	}
}

// forget drops what is known of a tile's peaks and, where the values between the
// samples are to be filled in again, those too.
func (ip *Interpolator) forget(t int, values bool) {
	if values {
		ip.done[t] = 0
	}
	for l := range ip.peak {
		ip.peak[l][t] = -1
	}
}

// cubic is the weights of four equally spaced values in Lagrange's cubic
// through them, x behind the second, in 0..1.
func cubic(x float64) [4]float64 {
	return [4]float64{
		-x * (x - 1) * (x - 2) / 6,
		(x + 1) * (x - 1) * (x - 2) / 2,
		-(x + 1) * x * (x - 2) / 2,
		(x + 1) * x * (x - 1) / 6,
	}
}
