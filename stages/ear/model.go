package ear

import (
	"fmt"
	"math"

	"ledgerline/stages/portable"
)

// LevelDBSPL is the playback level that the Recommendation takes where none is known: that of a sine at full
// scale, in dB SPL.
const LevelDBSPL = 92

// leastPower is that of a band in which there is nothing. [2.1.5.1]
const leastPower = 1e-12

// mostPower is what a band counts with that has more, so that nothing overflows: 240 dB SPL.
const mostPower = 1e24

// A Model is what hearing at one rate, hop and playback level needs. It never changes, and serves any number
// of goroutines.
type Model struct {
	rate, window, hop int
	loudest           float64 // power of the largest bin of a sine of full scale
	bands             []Band

	taper  []float64 // [2]
	shares shares
	noise  []float64 // power of the noise inside the ear, one a band [13]
	stay   []float64 // how much of the smeared excitation is left one hop later, one a band [24]
	offset []float64 // the mask as a part of the excitation, one a band [25]
	slopes slopes
}

// WindowFrames is the length of a window at a rate in Hz: 2048 up to 50 kHz, 4096 up to 100 kHz, 8192 up to
// 200 kHz. Beyond that there is none, and it is 0.
func WindowFrames(rate int) int {
	switch {
	case rate <= 0 || rate > 200000:
		return 0
	case rate > 100000:
		return 8192
	case rate > 50000:
		return 4096
	}
	return 2048
}

// NewModel is the model at a rate in Hz that has windows and is 1000 or more, with windows every hop frames,
// from 1 to a window; 0 is half a window, as the Recommendation has it. The level is that of a sine at full
// scale in dB SPL, from 0 to 200. It panics if one of them is out of range.
func NewModel(rate, hop int, levelDBSPL float64) *Model {
	n := WindowFrames(rate)
	if hop == 0 {
		hop = n / 2
	}
	if n == 0 || rate < 1000 || hop < 0 || hop > n || !(levelDBSPL >= 0 && levelDBSPL <= 200) {
		panic(fmt.Sprintf("ear: no model of %d Hz, a hop of %d and %v dB SPL", rate, hop, levelDBSPL))
	}
	m := &Model{
		rate: rate, window: n, hop: hop, loudest: portable.Exp10(levelDBSPL / 10), taper: make([]float64, n),
	}
	for k := range m.taper {
		m.taper[k] = 0.5 * (1 - portable.CosPi(2*float64(k)/float64(n-1)))
	}
	m.layBands(gain(rate, n, levelDBSPL))
	for k, b := range m.bands {
		tau := 0.008 + float64(100/b.Centre*0.022) // [21]
		m.noise = append(m.noise, portable.Exp10(0.4*0.364*power(b.Centre/1000, -0.8)))
		m.stay = append(m.stay, portable.Exp(-float64(hop)/(float64(rate)*tau)))
		m.offset = append(m.offset, portable.Exp10(-offsetDB(k)/10))
	}
	m.slopes = newSlopes(m.bands)
	return m
}

// layBands finds the bands in which there are bins, and each one's share of them.
func (m *Model) layBands(gain float64) {
	n := float64(m.window)
	bin := float64(m.rate) / n
	weights := make([]float64, m.window/2)
	for k := range weights {
		weights[k] = weight(float64(k)*bin) * gain * gain
	}
	for _, b := range bandsBelow(float64(m.rate) / 2) {
		if !m.shares.add(b.From/bin, b.To/bin, weights) {
			break // what is left of the last band is less than half a bin
		}
		m.bands = append(m.bands, b)
	}
}

// offsetDB is how far the mask of band k lies below the excitation. [25]
func offsetDB(k int) float64 {
	if z := barks * float64(k); z > 12 {
		return barks * z
	}
	return 3
}

// gain makes the largest bin of a sine of 1019.5 Hz at full scale have the level. [5, 6; the closed form of
// Kabal, appendix A]
func gain(rate, window int, levelDBSPL float64) float64 {
	return portable.Exp10(levelDBSPL/20) / (loss(rate, window) * float64(window-1) / 4)
}

// loss is the largest bin of such a sine as a part of what it would be were the sine in the middle of the
// bin.
func loss(rate, window int) float64 {
	n := float64(window)
	place := 1019.5 * n / float64(rate)
	u := math.Abs(place-math.Round(place)) * (n - 1) / n
	if u == 0 {
		return 1
	}
	return portable.SinPi(u) / (math.Pi * u * (1 - float64(u*u)))
}

// Rate is the rate in Hz.
func (m *Model) Rate() int { return m.rate }

// Window is the number of frames in a window.
func (m *Model) Window() int { return m.window }

// Hop is the number of frames from one window's first to the next one's.
func (m *Model) Hop() int { return m.hop }

// Bands is the number of bands: 109 at 36 kHz and above, less below.
func (m *Model) Bands() int { return len(m.bands) }

// Band is band k, from 0, the lowest.
func (m *Model) Band(k int) Band { return m.bands[k] }

// FullScale is the power that band k has when a sine of full scale is in the middle of a band that is much
// wider than a bin: the three bins of its taper have one and a half times the power of the largest.
func (m *Model) FullScale(k int) float64 {
	return float64(1.5 * m.loudest * weight(m.bands[k].Centre))
}
