package bandlimit

import (
	"math"
	"sync"

	"ledgerline/stages/kernel"
)

// A pulse is a short thing that can be taken from a signal without adding
// anything beyond the band: a sinc under a Kaiser window that passes 17.2/44.1 of the
// rate and has fallen by 105 dB at 21.8/44.1, scaled to 1 at its peak. It can be
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
// (r-1)/pulseRows of a value after a value, and begins pulseValues/2 values before that one.
var pulses = sync.OnceValue(newPulses)

func newPulses() []float64 {
	values := make([]float64, (pulseRows+3)*pulseValues)
	for i := range values {
		row, k := i/pulseValues, i%pulseValues
		at := (float64(k-pulseValues/2) - float64(row-1)/pulseRows) / pulseRate
		values[i] = pulseShape(at)
	}
	return values
}

// pulseShape is a pulse of height 1 at a time in frames from its peak.
func pulseShape(at float64) float64 { return sinc(at*pulseBand) * kaiser(at/pulseSide, pulseBeta) }

// A Pulse is as high as Height, with its sign, at its peak, which lies at a value, or a
// fraction of one after it, at twice the track's rate.
type Pulse struct{ At, Height float64 }

// Subtract takes pulses that lie within a tile off the signal, one at least, and returns the first and the
// last tile they touch, and whether the track's begin or end has cut any of them off.
func (ip *Interpolator) Subtract(pulses []Pulse) (first, last int, trimmed bool) {
	from, to := math.MaxInt, 0
	for _, p := range pulses {
		frame := int(p.At) / pulseRate
		from, to = min(from, frame), max(to, frame)
	}
	from, to = from-pulseSide, to+pulseSide
	twice := ip.At(pulseRate)
	for t := from / Tile; t <= to/Tile; t++ {
		twice.Fill(t)
	}
	for _, p := range pulses {
		twice.subtract(p)
	}
	// The frames are the even values.
	kernel.Evens(ip.At(1).values[from:to+1], twice.values[from*pulseRate:])
	return ip.touched(from, to, onlySignal<<1|onlySignal)
}

// subtract takes a pulse off the values.
func (r *Rate) subtract(p Pulse) {
	m := int(p.At)
	at := float64((p.At - float64(m)) * pulseRows)
	row := int(at)
	w := Cubic(at - float64(row))
	for i := range w {
		w[i] *= -p.Height
	}
	kernel.AddScaledRows(r.values[m-pulseValues/2:][:pulseValues], pulses()[row*pulseValues:], pulseValues, &w)
}

// SubtractAt takes a pulse of height a, its peak at a frame, off the signal, and
// leaves the values between the samples to be filled in again.
func (ip *Interpolator) SubtractAt(frame int, a float64) (first, last int, trimmed bool) {
	TakePulse(ip.At(1).values, frame, a)
	return ip.touched(frame-pulseSide, frame+pulseSide, onlySignal)
}

// TakePulse takes a pulse of height a, its peak at a frame, off the frames x. It reaches 36 frames to either
// side.
func TakePulse(x []float64, frame int, a float64) {
	x = x[frame-pulseSide:]
	pulse := pulses()[pulseValues:]
	for i := range pulseFrames {
		x[i] -= float64(a * pulse[pulseRate*i])
	}
}

// TakeOff takes a pulse off the frames x, of which it may begin before the first and end after the last. Its
// place is counted from the first in values at twice the rate.
func TakeOff(x []float64, p Pulse) {
	var values [pulseValues + 1]float64 // from an even one on
	m := int(math.Floor(p.At))
	odd := m & 1
	r := Rate{values: values[:]}
	r.subtract(Pulse{At: p.At - float64(m) + pulseValues/2 + float64(odd), Height: p.Height})
	first := (m-odd)/2 - pulseSide
	for i := range pulseFrames {
		if n := first + i; n >= 0 && n < len(x) {
			x[n] += values[2*i]
		}
	}
}

// touched books the tiles from one frame to another as changed. Of their levels
// those of which the bits are set are still right.
func (ip *Interpolator) touched(from, to int, keep uint8) (first, last int, trimmed bool) {
	first, last = from/Tile, to/Tile
	for t := first; t <= last; t++ {
		ip.forget(t, keep)
	}
	if from >= ip.first && to < ip.end {
		return first, last, false
	}
	first, last = first-dependence, last+dependence
	ip.trim(first, last)
	return first, last, true
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

// Cubic is the weights of four equally spaced values in Lagrange's cubic through them, x after the second, in
// 0..1.
func Cubic(x float64) [4]float64 {
	return [4]float64{
		-x * (x - 1) * (x - 2) / 6,
		(x + 1) * (x - 1) * (x - 2) / 2,
		-(x + 1) * x * (x - 2) / 2,
		(x + 1) * x * (x - 1) / 6,
	}
}

// Skirt is how high a pulse of height 1 is beside its main lobe, so many frames from its peak and
// further, at most: as the sinc's first side lobe, or its envelope.
func Skirt(frames float64) float64 {
	const lobe = 0.218
	if frames < 1/(math.Pi*pulseBand*lobe) {
		return lobe
	}
	return 1 / (math.Pi * pulseBand * frames)
}

// Near is how many values away from its peak a Shape knows a pulse.
const Near = 24

const shapeRows = 16 // a value

// A Shape is a pulse of height 1 near its peak. Row by row it is the coefficients of the powers of x, x
// values after the middle of the row, which is (row+1/2)/shapeRows of a value from the peak.
type Shape [Near * shapeRows][4]float64

// PulseShape is the shape of what Subtract takes off.
var PulseShape = sync.OnceValue(newShape)

func newShape() *Shape {
	s := new(Shape)
	const per = 64 // points a value, halfway between which a row has its middle
	var near [Near*per + points]float64
	for i := range near {
		near[i] = pulseShape((float64(i-points/2) + 0.5) / (per * pulseRate))
	}
	for row := range s {
		middle := (2*row + 1) * per / (2 * shapeRows)
		c := expand((*[points]float64)(near[middle:]), 1.0/per)
		copy(s[row][:], c[:])
	}
	return s
}

// At is how high the pulse is from 0 up to Near values from its peak, within 1e-7.
func (s *Shape) At(distance float64) float64 {
	row := int(distance * shapeRows)
	c := &s[row]
	x := distance - float64((float64(row)+0.5)/shapeRows)
	return c[0] + float64(x*(c[1]+float64(x*(c[2]+float64(x*c[3])))))
}
