package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// A peak is one that a pass takes down.
type peak struct {
	found, at float64 // where it was found and where its pulse goes, in values at twice the track's rate
	over      float64 // by how much it passes the level it is to come down to, with its sign
	sum       float64 // what pulses as high as that, at it and at the peaks near it, would take off it
	here      float64 // of linked channels, what of that comes of peaks of others at the same place
	cut       float64 // how high a pulse is to be taken off it
}

// least is the least that a peak's neighbours count for, of what it is over itself: where they raise it, its pulse is
// higher than it is over, up to 1/least times. 1 takes 7 to 14 % more of the hold's time on programme.
const least = 0.7

// spare is the most that a peak comes down further than to its level, of that, as far again as it is over: what pulses near by give back
// then passes nothing. With 0, 40 Hz 4 dB over leaves 260 samples for the clamp; with 5e-4, 6983 Hz 2 dB over has 82 dB after a clip.
const spare = 1e-4

// meet reckons with what peak k and those before it do to each other.
func (p *pass) meet(k int) {
	peak := &p.peaks[k]
	peak.sum += math.Abs(peak.over)
	for i := k - 1; i >= 0; i-- {
		before := &p.peaks[i]
		distance := math.Abs(peak.at - before.at)
		if distance >= bandlimit.Near {
			return
		}
		felt := p.shape.At(distance)
		if math.Signbit(peak.over) != math.Signbit(before.over) {
			felt = -felt
		}
		peak.sum += float64(math.Abs(before.over) * felt)
		before.sum += float64(math.Abs(peak.over) * felt)
	}
}

// settle finds what is to be cut off peak k: what it is over, less where its neighbours' pulses lower it too. All peaks of
// a pass are cut from one state, so that no peak's cut depends on the order in which they come, and each cut is continuous
// in the times and heights of all: taken one after the other, the peaks of a low tone passed an error on from each to the next.
func (p *pass) settle(k int) {
	peak := &p.peaks[k]
	over := math.Abs(peak.over)
	peak.cut = peak.over * over / max(least*(over+peak.here), peak.sum)
}

// onePeak is how close together, in values, two peaks are one.
const onePeak = 0.2

// has reports whether a peak lies where the last one was found, or before it.
func (p *pass) has(top bandlimit.Top) bool {
	n := len(p.peaks)
	return n > 0 && top.At-p.peaks[n-1].found < 0.05
}

// add appends a peak that was found at a place, unless it is the last one again, and reports whether it did.
func (p *pass) add(found float64, top bandlimit.Top, level float64) bool {
	if n := len(p.peaks); n > 0 && top.At-p.peaks[n-1].at < onePeak {
		return false
	}
	over := math.Abs(top.Height) - level
	p.peaks = append(p.peaks, peak{found: found, at: top.At, over: math.Copysign(over+min(over, spare*level), top.Height)})
	return true
}

// forget drops the first peaks.
func (p *pass) forget(first int) {
	if len(p.shares) > 0 {
		per := len(p.shares) / len(p.peaks)
		p.shares = p.shares[:copy(p.shares, p.shares[first*per:])]
	}
	p.peaks = p.peaks[:copy(p.peaks, p.peaks[first:])]
}

// drop says that the first tiles have been forgotten.
func (p *pass) drop(tiles int) {
	for i := range p.peaks {
		p.peaks[i].at -= float64(2 * tile * tiles)
		p.peaks[i].found -= float64(2 * tile * tiles)
	}
}
