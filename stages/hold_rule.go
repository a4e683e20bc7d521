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
	// raise it, its pulse is higher than it is over, up to 1/least times.
	least = 0.7
	// deepest is the most, dB, that the first pass takes a peak further down than to the ceiling.
	deepest = 0.03
	// nearReach is how far from a peak that the first pass cuts, in values at twice the rate, peaks come down
	// lower for it.
	nearReach = 16
)

// A peak is one that a pass takes down.
type peak struct {
	found, at float64 // where it was found and where its pulse goes, in values at twice the track's rate
	over      float64 // by how much it passes the level it is to come down to, with its sign
	near      float64 // how much peaks near it are over, itself included, each the less the further away it is
	sum       float64 // what pulses as high as that, at it and at the peaks near it, would take off it
	here      float64 // of linked channels, what of that comes of peaks of others at the same place
	once      float64 // how high its pulse would be if that were all
	again     float64 // what pulses as high as that would take off it
	met       int     // how many peaks before it are near it
	felts     int     // of the pass: from here on is what of the pulses of those it feels, the last one first
	cut       float64 // how high a pulse is to be taken off it
}

// level is what a pass takes a peak down to. In the first pass that is the ceiling, and after it the lower
// the higher the first pass's pulses near the peak were. It may not jump between peaks with and without such
// a pulse near them, or the periods of a tone differ by which of its peaks has one.
func (p *pass) level(ceiling, near float64) float64 {
	if p.first {
		return ceiling
	}
	return max(p.aim, ceiling-float64(p.depth*near))
}

// meet reckons with what peak k and those before it do to each other.
func (p *pass) meet(k int) {
	peak := &p.peaks[k]
	peak.felts = len(p.felts)
	peak.sum += math.Abs(peak.over)
	peak.near += math.Abs(peak.over)
	for i := k - 1; i >= 0; i-- {
		before := &p.peaks[i]
		distance := math.Abs(peak.at - before.at)
		if distance >= bandlimit.Near {
			break
		}
		felt := p.shape.At(distance)
		if math.Signbit(peak.over) != math.Signbit(before.over) {
			felt = -felt
		}
		p.felts = append(p.felts, felt)
		peak.sum += float64(math.Abs(before.over) * felt)
		before.sum += float64(math.Abs(peak.over) * felt)
		by := bump(distance / nearReach)
		peak.near += float64(math.Abs(before.over) * by)
		before.near += float64(math.Abs(peak.over) * by)
	}
	peak.met = len(p.felts) - peak.felts
}

// meetAgain reckons with what the peaks of a tile and those near them do to each other if each is cut once.
// The tile's are those from done on, up to before; all others near them have been met, too.
func (p *pass) meetAgain(before int) {
	for k := range p.peaks {
		peak := &p.peaks[k]
		peak.once, peak.again = 0, 0
		if over := math.Abs(peak.over); over > 0 {
			peak.once = over * over / max(least*(over+peak.here), peak.sum)
			peak.again = peak.once
		}
	}
	for k := p.done; k < len(p.peaks); k++ {
		peak := &p.peaks[k]
		for n, felt := range p.felts[peak.felts:][:peak.met] {
			other := &p.peaks[k-1-n]
			peak.again += float64(other.once * felt)
			other.again += float64(peak.once * felt)
		}
		if k >= before && k-peak.met >= before {
			return
		}
	}
}

// decide finds what is to be cut off peak k: what it is over, less where its neighbours' pulses lower it too.
// All peaks of a pass are cut from one state, so that no peak's cut depends on the order in which they come,
// and each cut is continuous in the times and heights of all. Taken one after the other, the peaks of a low
// tone passed an error on from each to the next. The first pass takes a peak further down, the more there is
// to be cut near it, so that the passes after it find less.
func (p *pass) decide(k int) {
	peak := &p.peaks[k]
	if peak.once == 0 {
		return
	}
	over := math.Abs(peak.over)
	if p.first {
		over += min(float64(p.depth*peak.near), p.deepest)
	}
	peak.cut = math.Copysign(peak.once*over/max(least*math.Abs(peak.over), peak.again), peak.over)
}

// bump falls smoothly from 1 at 0 to 0 at 1 and further.
func bump(x float64) float64 {
	by := max(1-float64(x*x), 0)
	return float64(by * by)
}
