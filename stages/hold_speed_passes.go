package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
)

// A pass takes the peaks of the tiles down to an aim. What it finds in a tile it takes off only when it knows
// the peaks of the next one: each is to be found on what the pass has not changed yet, wherever the tiles
// end.
type pass struct {
	first   bool
	aim     float64
	depth   float64 // how far below the ceiling a peak comes down, of what is cut near it
	deepest float64 // and how far at most, in the first pass; in the others it is the aim
	peaks   []peak  // in their order in time: those of the two tiles before the one in work, then its own
	done    int     // how many of them are of the first tile, whose pulses have been taken off
	shape   *bandlimit.Shape
	// What each peak feels of the pulses of those before it, its sign as that of what it does; see peak.
	felts []float64
	// Of linked channels, what of the pulse of each peak each of them loses, in turn.
	shares []float64
}

// findTrue takes the true peaks of the tile before one down to the aim of a pass.
func (h *holder) findTrue(p *pass, t int) {
	before := len(p.peaks)
	if h.news(p, t) {
		h.seek(p, t)
	}
	for k := before; k < len(p.peaks); k++ {
		p.meet(k)
	}
	p.meetAgain(before)
	for k := p.done; k < before; k++ {
		p.decide(k)
	}
	h.takeOff(p.peaks[p.done:before], p.first)
	p.goOn(before)
}

// takeOff takes off the signal what is to be cut off the peaks of a tile, and notes the pulses if they count
// for the level of peaks near them.
func (h *holder) takeOff(peaks []peak, note bool) {
	h.pulses = h.pulses[:0]
	for i := range peaks {
		if p := &peaks[i]; p.cut != 0 {
			h.strike(p.at, p.cut, note)
		}
	}
	h.subtract()
}

// strike appends a pulse to those that are to be taken off, and notes it if it counts for the level.
func (h *holder) strike(at, height float64, note bool) {
	h.pulses = append(h.pulses, bandlimit.Pulse{At: at, Height: height})
	if note {
		h.struck.add(at, math.Abs(height))
	}
}

// goOn goes on to the next tile; before is how many of the peaks are not of the tile in work.
func (p *pass) goOn(before int) {
	first := p.done
	if len(p.shares) > 0 {
		per := len(p.shares) / len(p.peaks)
		p.shares = p.shares[:copy(p.shares, p.shares[first*per:])]
	}
	p.peaks = p.peaks[:copy(p.peaks, p.peaks[first:])]
	p.done = before - first
	p.forgetFelts()
}

// forgetFelts forgets what is felt of peaks that are forgotten.
func (p *pass) forgetFelts() {
	if len(p.peaks) == 0 {
		p.felts = p.felts[:0]
		return
	}
	from := p.peaks[0].felts
	p.felts = p.felts[:copy(p.felts, p.felts[from:])]
	for i := range p.peaks {
		peak := &p.peaks[i]
		peak.felts -= from
		peak.met = min(peak.met, i)
	}
}

// drop says that the first tiles have been forgotten.
func (p *pass) drop(tiles int) {
	for i := range p.peaks {
		p.peaks[i].at -= float64(2 * tile * tiles)
		p.peaks[i].found -= float64(2 * tile * tiles)
	}
}

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
		h.passes[pass].meetAgain(l.before[c])
	}
	for c, h := range l.each {
		p := &h.passes[pass]
		l.meetAgain(pass, c)
		for k := p.done; k < l.before[c]; k++ {
			p.decide(k)
		}
	}
	l.takeOff(pass)
	for c, h := range l.each {
		h.passes[pass].goOn(l.before[c])
	}
}

// takeOff takes off all channels what is to be cut off the peaks of a tile.
func (l *holdLink) takeOff(pass int) {
	for _, h := range l.each {
		h.pulses = h.pulses[:0]
	}
	for c, h := range l.each {
		p := &h.passes[pass]
		for k := p.done; k < l.before[c]; k++ {
			peak := &p.peaks[k]
			if peak.cut == 0 {
				continue
			}
			for q, other := range l.each {
				if cut := float64(peak.cut * l.share(p, k, q)); cut != 0 {
					other.strike(peak.at, cut, p.first)
				}
			}
		}
	}
	for _, h := range l.each {
		h.subtract()
	}
}
