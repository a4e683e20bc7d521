package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// A peak is one that may pass the aim of a pass.
type peak struct {
	at     float64     // in values at twice the track's rate
	height float64     // with its sign, as the cuts near by leave it
	cut    float64     // how high a pulse is to be taken off it
	first  int         // the first of the peaks before it that are near
	felt   [16]float64 // felt[n]: what is left at it of a pulse of 1 at the n-th peak before it, and there of its own
}

// How much further than needed a peak is taken down, for what its neighbours' pulses give back:
// as far again as it is over, which sends less of an error from peak to peak along the flat top of a low tone than twice as
// far did (106 Hz, 4.1 dB over, after a clip: SNR 92 dB instead of 80), but not more than these parts of the aim, the first time and when others
// have raised it again.
const (
	spare      = 0.0025
	spareAgain = 0.0008
)

// The neighbours are reckoned with because without them 15 kHz, 6 dB over, ends 1.1 dB below the ceiling instead of 0.4,
// and 19.5 kHz, 12 dB over, leaves something for the clamp (TestCeilingHoldOfLoudTones).

// settle finds what is to be cut off peak k, on what the cuts of those before it leave of it; and then off
// those near before it that its own cut raises. That reckons with peaks that stay where they are: where
// a pulse is steep, they move a little, which is left to the next pass. Conversions keep
// products from being fused with sums, on any processor.
func (p *pass) settle(k int) {
	p.meet(k)
	if math.Abs(p.peaks[k].height) <= p.aim {
		return
	}
	p.lower(k, k, p.aim, spare)
	for i := k - 1; i >= p.peaks[k].first; i-- {
		level, more := p.aim, spare
		if p.peaks[i].cut != 0 {
			level, more = p.again, spareAgain
		}
		if math.Abs(p.peaks[i].height) > level {
			p.lower(i, k, level, more)
		}
	}
}

// meet finds what the peaks before peak k that are near it have to do with it.
func (p *pass) meet(k int) {
	peak := &p.peaks[k]
	peak.first = k
	for n := range min(k, len(peak.felt)) {
		before := &p.peaks[k-1-n]
		distance := math.Abs(peak.at - before.at)
		if distance >= bandlimit.Near {
			return
		}
		peak.felt[n] = p.shape.At(distance)
		peak.height -= float64(before.cut * peak.felt[n])
		peak.first--
	}
}

// lower takes peak i down to a level and, by that part of it at most, further, and what its pulse takes off
// those near it, up to peak k.
func (p *pass) lower(i, k int, level, more float64) {
	peak := &p.peaks[i]
	over := math.Abs(peak.height) - level
	cut := math.Copysign(over+min(over, more*level), peak.height)
	peak.cut += cut
	peak.height -= cut
	for j := peak.first; j < i; j++ {
		p.peaks[j].height -= float64(cut * peak.felt[i-1-j])
	}
	for j := i + 1; j <= k && p.peaks[j].first <= i; j++ {
		p.peaks[j].height -= float64(cut * p.peaks[j].felt[j-1-i])
	}
}

// add appends a peak.
func (p *pass) add(at, height float64) {
	n := len(p.peaks)
	if n == cap(p.peaks) {
		p.peaks = append(p.peaks, peak{})
	}
	p.peaks = p.peaks[:n+1]
	found := &p.peaks[n] // of which felt is written before it is read
	found.at, found.height, found.cut = at, height, 0
}

// forget drops the first peaks.
func (p *pass) forget(first int) {
	p.peaks = p.peaks[:copy(p.peaks, p.peaks[first:])]
	for i := range p.peaks {
		p.peaks[i].first = max(p.peaks[i].first-first, 0)
	}
}

// drop says that the first tiles have been forgotten.
func (p *pass) drop(tiles int) {
	for i := range p.peaks {
		p.peaks[i].at -= float64(2 * tile * tiles)
	}
}
