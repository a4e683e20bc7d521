package stages

import (
	"math"
	"sort"

	"ledgerline/stages/bandlimit"
)

// What is taken off one of several linked channels at some moment is taken off the others there in proportion
// to what they are at that moment: a peak's pulse by pulses at the same place, a broad run as a linked clip
// does it.
//
// At each moment the channel of the largest magnitude leads. A peak counts as far as its channel leads there:
// the leader has a peak of its own close by, and the cut of that lowers this one too.

// leadFades is by how much, as a part of it, another channel may be higher at the place of a peak before the
// peak does not count.
const leadFades = 0.25

// leads is how far a channel leads where the largest magnitude among all channels is so many times its own: 1
// where none is higher. It may not jump.
func leads(most float64) float64 { return bump(max(most-1, 0) / leadFades) }

// samePlace is how far two peaks of different channels count as one: 1 where they are at the same place.
func samePlace(distance float64) float64 { return bump(distance) }

// lead finds what the peak that a pass has found last takes off each channel, as a part of its own pulse, and
// lets it count as far as its channel leads.
func (l *holdLink) lead(h *holder, p *pass) {
	peak := &p.peaks[len(p.peaks)-1]
	for c, other := range l.each {
		l.values[c] = other.in.At(2).FilledValue(peak.at)
	}
	own := l.values[h.channel]
	most := 0.0
	for _, v := range l.values {
		share := v / own
		if own == 0 {
			share = 0
		}
		p.shares = append(p.shares, share)
		most = max(most, math.Abs(share))
	}
	p.shares[len(p.shares)-len(l.each)+h.channel] = 1
	peak.over *= leads(most)
}

// share is what of the pulse of peak k another channel loses.
func (l *holdLink) share(p *pass, k, channel int) float64 { return p.shares[k*len(l.each)+channel] }

// meet reckons with what a peak of a channel and those of others do to each other. Each two are met once: of
// peaks that have just been found, by the channel that comes later.
func (l *holdLink) meet(pass, channel, k int) {
	p := &l.each[channel].passes[pass]
	peak := &p.peaks[k]
	for c, h := range l.each {
		other := &h.passes[pass]
		n := len(other.peaks)
		if c >= channel {
			n = l.before[c]
		}
		if c == channel {
			continue
		}
		for i := n - 1; i >= 0 && peak.at-other.peaks[i].at < bandlimit.Near; i-- {
			near := &other.peaks[i]
			distance := math.Abs(peak.at - near.at)
			if distance >= bandlimit.Near {
				continue
			}
			felt := p.shape.At(distance)
			peak.meets(float64(near.over*l.share(other, i, channel)), felt, distance)
			near.meets(float64(peak.over*l.share(p, k, c)), felt, distance)
		}
	}
}

// meets reckons with a pulse so high that a peak of another channel has this one lose.
func (p *peak) meets(height, felt, distance float64) {
	by := float64(math.Copysign(height, height*p.over) * felt)
	p.sum += by
	p.here += float64(max(by, 0) * samePlace(distance))
}

// meetAgain reckons with what the peaks of a channel's tile lose to those of others if each is cut once.
func (l *holdLink) meetAgain(pass, channel int) {
	p := &l.each[channel].passes[pass]
	for k := p.done; k < l.before[channel]; k++ {
		peak := &p.peaks[k]
		for c, h := range l.each {
			if c == channel {
				continue
			}
			others := h.passes[pass].peaks
			first := sort.Search(len(others), func(i int) bool { return others[i].at > peak.at-bandlimit.Near })
			for i := first; i < len(others) && others[i].at-peak.at < bandlimit.Near; i++ {
				other := &others[i]
				by := float64(other.once*l.share(&h.passes[pass], i, channel)) * p.shape.At(math.Abs(other.at-peak.at))
				peak.again += math.Copysign(by, by*other.over*peak.over)
			}
		}
	}
}
