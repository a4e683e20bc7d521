package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// find takes the peaks of a tile down to the aim of a pass.
func (l *holdLink) find(pass, t int) {
	if l.each[0].heights.Factor() == 1 {
		l.findSample(pass, t)
		return
	}
	l.findTrue(pass, t)
}

// findTrue is a holder's, of all channels: their peaks are cut from one state, too.
func (l *holdLink) findTrue(pass, t int) {
	for c, h := range l.each {
		p := &h.passes[pass]
		l.before[c] = len(p.peaks)
		if h.news(p, t) {
			h.seek(p, t)
		}
	}
	for c, h := range l.each {
		p := &h.passes[pass]
		for k := l.before[c]; k < len(p.peaks); k++ {
			p.meet(k)
			l.meet(pass, c, k)
		}
	}
	for c, h := range l.each {
		p := &h.passes[pass]
		for k := p.taken; k < l.before[c]; k++ {
			if p.peaks[k].over != 0 {
				p.settle(k)
			}
		}
	}
	l.takeOff(pass)
	for c, h := range l.each {
		p := &h.passes[pass]
		p.forget(p.taken)
		p.taken = l.before[c] - p.taken
	}
}

// lead finds what the peak that a pass has found last takes off each channel, as a part of its own pulse, and lets
// it count as far as its channel leads.
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

// meet reckons with what a peak of a channel and those of others do to each other. Each two are met once: those that
// have just been sought by the channel that comes later.
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

// samePlace is how far two peaks of different channels count as one: 1 where they are at the same place.
func samePlace(distance float64) float64 {
	by := max(1-float64(distance*distance), 0)
	return float64(by * by)
}

// takeOff takes off all channels what is to be cut off the peaks of a tile.
func (l *holdLink) takeOff(pass int) {
	for _, h := range l.each {
		h.pulses = h.pulses[:0]
	}
	for c, h := range l.each {
		p := &h.passes[pass]
		for k := p.taken; k < l.before[c]; k++ {
			peak := &p.peaks[k]
			if peak.cut == 0 {
				continue
			}
			for q, other := range l.each {
				if cut := float64(peak.cut * l.share(p, k, q)); cut != 0 {
					other.strike(peak.at, cut, !p.fine)
				}
			}
		}
	}
	for _, h := range l.each {
		h.subtract()
	}
}

// findSample takes the sample peaks of a tile down to the aim of a pass: at each frame as the largest of them needs it.
func (l *holdLink) findSample(pass, t int) {
	for _, h := range l.each {
		h.sees(&h.passes[pass], t)
	}
	aim := l.each[0].passes[pass].aim
	for n := t*tile - 1; n < (t+1)*tile-1; n++ {
		most := aim
		for _, h := range l.each {
			if v := math.Abs(h.in.Signal()[n]); v > most && isPeak(h.in.Signal(), n) {
				most = v
			}
		}
		if most > aim {
			l.cutSample(t, n, (most-aim)/most)
		}
	}
}

// cutSample takes pulses off all channels at a frame, each a part as high as the sample there.
func (l *holdLink) cutSample(t, n int, part float64) {
	for _, h := range l.each {
		cut := float64(part * h.in.Signal()[n])
		if cut == 0 {
			continue
		}
		first, last, _ := h.in.SubtractAt(n, cut)
		for k := first; k <= last; k++ {
			h.risen[k] += math.Abs(cut)
		}
	}
}
