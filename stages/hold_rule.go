package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// The rule of the hold is in the files hold_rule*.go: which peaks are cut, where, and how deep. HOLD.md has
// the equations. Only times and heights of peaks enter it, and all of it is continuous in them, because
// anything else aliases. How the peaks are found without looking everywhere, and in few passes, is in the
// files hold_speed*.go.
const (
	// least is the least that a peak's neighbours count for, as a part of what it is over itself. Where they
	// raise it, its pulse is higher than it is over, up to 1/least times. 1 takes 7 to 14 % more of the hold's
	// time on programme; 0.35 leaves 103 dB of the 107 in HOLD.md.
	least = 0.7
	// nearReach is how far from a pulse of the first pass, in values at twice the rate, peaks come down lower
	// for it. With 64 so do all on the flat top of a low tone, for the pulses at its ends: 89 dB instead of 110
	// (138.6 Hz, 0.5 dB over).
	nearReach = 16
)

// A peak is one that a pass takes down.
type peak struct {
	found, at float64 // where it was found and where its pulse goes, in values at twice the track's rate
	over      float64 // by how much it passes the level it is to come down to, with its sign
	sum       float64 // what pulses as high as that, at it and at the peaks near it, would take off it
	here      float64 // of linked channels, what of that comes of peaks of others at the same place
	cut       float64 // how high a pulse is to be taken off it
}

// level is what a pass takes a peak down to. In the first pass that is the ceiling, and after it the lower
// the higher the first pass's pulses near the peak were. It may not jump between peaks with and without such
// a pulse near them, or the periods of a tone differ by which of its peaks has one.
func (p *pass) level(ceiling, near float64) float64 {
	if !p.fine {
		return ceiling
	}
	return max(p.aim, ceiling-float64(p.depth*near))
}

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

// decide finds what is to be cut off peak k: what it is over, less where its neighbours' pulses lower it too.
// All peaks of a pass are cut from one state, so that no peak's cut depends on the order in which they come,
// and each cut is continuous in the times and heights of all. Taken one after the other, the peaks of a low
// tone passed an error on from each to the next.
func (p *pass) decide(k int) {
	peak := &p.peaks[k]
	over := math.Abs(peak.over)
	peak.cut = peak.over * over / max(least*(over+peak.here), peak.sum)
}

// bump falls smoothly from 1 at 0 to 0 at 1 and further.
func bump(x float64) float64 {
	by := max(1-float64(x*x), 0)
	return float64(by * by)
}
