package bandlimit

import (
	"sync"

	"ledgerline/stages/kernel"
)

// A pulse is a short thing that can be taken from a signal without adding
// anything beyond the band: a sinc under a Kaiser window that passes 17.2/44.1 of the
// rate and has fallen by 105 dB at 21.8/44.1, scaled to 1 at its peak. It can stand
// anywhere between two samples.
const (
	pulseSide = 36 // frames to either side
	pulseRows = 24 // table rows a value
	pulseRate = 2  // values a frame
	pulseBand = 39.0 / 44.1
	pulseBeta = 10.6
)

const (
	pulseFrames = 2 * pulseSide
	pulseValues = pulseFrames * pulseRate
)

// pulses hold the pulse for each fraction, in rows of pulseValues: row r is for a peak that lies
// (r-1)/pulseRows of a value behind a value, and begins pulseValues/2 values before that one.
var pulses = sync.OnceValue(newPulses)

func newPulses() []float64 {
	values := make([]float64, (pulseRows+3)*pulseValues)
	for i := range values {
		row, k := i/pulseValues, i%pulseValues
		at := (float64(k-pulseValues/2) - float64(row-1)/pulseRows) / pulseRate
		values[i] = sinc(at*pulseBand) * kaiser(at/pulseSide, pulseBeta)
	}
	return values
}

// Subtract takes a pulse of height a off the signal, its peak at a fraction
// 0..1 of a value behind value m at twice the track's rate, and returns the first and the last
// tile it touches.
func (ip *Interpolator) Subtract(m int, fraction, a float64) (first, last int) {
	at := fraction * pulseRows
	row := min(int(at), pulseRows-1)
	w := cubic(at - float64(row))
	for i := range w {
		w[i] *= -a
	}
	frame, twice := m/pulseRate, ip.At(pulseRate)
	first, last = reached(frame)
	for t := first; t <= last; t++ {
		twice.Fill(t)
	}
	values := twice.values[m-pulseValues/2:]
	kernel.AddScaledRows(values[:pulseValues], pulses()[row*pulseValues:], pulseValues, &w)
	// The frames are the even values.
	s := m % pulseRate
	kernel.Evens(ip.At(1).values[frame+s-pulseSide:][:pulseFrames], values[s:])
	return ip.touched(frame, onlySignal<<1|onlySignal)
}

// SubtractAt takes a pulse of height a, its peak at a frame, off the signal, and
// leaves the values between the samples to be filled in again.
func (ip *Interpolator) SubtractAt(frame int, a float64) (first, last int) {
	x, pulse := ip.At(1).values[frame-pulseSide:], pulses()[pulseValues:]
	for i := range pulseFrames {
		x[i] -= float64(a * pulse[pulseRate*i])
	}
	return ip.touched(frame, onlySignal)
}

// reached are the first and the last tile that a pulse at frame reaches.
func reached(frame int) (first, last int) {
	return (frame - pulseSide) / Tile, (frame + pulseSide) / Tile
}

// touched books the tiles that a pulse at frame reaches as changed. Of their levels
// those of which the bits are set are still right.
func (ip *Interpolator) touched(frame int, keep uint8) (first, last int) {
	first, last = reached(frame)
	for t := first; t <= last; t++ {
		ip.forget(t, keep)
	}
	if frame-pulseSide < ip.first || frame+pulseSide >= ip.end {
		first, last = first-dependence, last+dependence
		ip.trim(first, last)
	}
	return first, last
}

// trim cuts off what reaches beyond the track's first or last frame in some tiles.
func (ip *Interpolator) trim(first, last int) {
	x := ip.At(1).values[:(last+1)*Tile]
	if n := ip.first - first*Tile; n > 0 {
		clear(x[first*Tile : min(ip.first, len(x))])
	}
	if ip.end < len(x) {
		clear(x[max(ip.end, first*Tile):])
	}
	for t := first; t <= last; t++ {
		ip.forget(t, onlySignal)
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
