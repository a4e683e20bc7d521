package stages

import (
	"math"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// A maskedPass takes a part of what is over off every peak. All its cuts are worked out of one state of the
// signal, the one that the pass before it has left: only times and heights of peaks enter, and no grid, so
// that nothing aliases.
type maskedPass struct {
	step  float64      // the share of an excess that it takes off
	peaks []maskedPeak // in their order in time, the first ones cut already
	cut   int          // how many of them are
}

// A maskedPeak is a peak beyond the aim.
type maskedPeak struct {
	at     float64 // in frames of the stretch
	over   float64 // beyond the aim, with the peak's sign
	pulses *pulses // of the mask nearest to it
}

// drift is how many frames a peak may lie before the end of the tile after the one it was found in, or after
// its begin.
const drift = 8

// look finds the peaks of a tile that pass the aim.
func (m *maskedClipper) look(p *maskedPass, t int) {
	if m.quiet[t] {
		return
	}
	found := len(p.peaks)
	m.seek(p, t)
	m.quiet[t] = len(p.peaks) == found
}

func (m *maskedClipper) seek(p *maskedPass, t int) {
	if m.in.MayRise(t, m.aim) || m.in.MayRise(t-1, m.aim) {
		eachHill(m.in, &m.fourfold, t, m.aim, func(hills *bandlimit.Hills) {
			for _, top := range hills.Tops() {
				if math.Abs(top.Height) > m.aim {
					m.add(p, top)
				}
			}
		})
	}
}

// add puts a peak in its place, but where it is one that is there again.
func (m *maskedClipper) add(p *maskedPass, top bandlimit.Top) {
	const same = 0.1
	at := float64(top.At / 2)
	k := len(p.peaks)
	for k > p.cut && p.peaks[k-1].at > at {
		k--
	}
	if k > 0 && at-p.peaks[k-1].at < same || k < len(p.peaks) && p.peaks[k].at-at < same {
		return
	}
	p.peaks = append(p.peaks, maskedPeak{})
	copy(p.peaks[k+1:], p.peaks[k:])
	p.peaks[k] = maskedPeak{at: at, over: top.Height - math.Copysign(m.aim, top.Height)}
}

// cutKnown cuts the peaks around which all others are known, as those up to a frame are.
func (m *maskedClipper) cutKnown(p *maskedPass, known float64) {
	before, after := float64(m.tools.before), float64(m.tools.after)
	for ; p.cut < len(p.peaks) && p.peaks[p.cut].at+before <= known; p.cut++ {
		m.cut(p, p.cut)
	}
	oldest := known - before
	if p.cut < len(p.peaks) {
		oldest = min(oldest, p.peaks[p.cut].at)
	}
	gone := 0
	for gone < p.cut && p.peaks[gone].at <= oldest-after {
		gone++
	}
	if gone > 0 {
		p.peaks = p.peaks[:copy(p.peaks, p.peaks[gone:])]
		p.cut -= gone
	}
}

// cut takes a peak down by as much of the step as its neighbours' pulses leave to it: what all pulses of the
// height of their excess would take off it is reckoned with.
func (m *maskedClipper) cut(p *maskedPass, j int) {
	peak := &p.peaks[j]
	before, after := float64(m.tools.before), float64(m.tools.after)
	first, last := j, j
	for first > 0 && p.peaks[first-1].at > peak.at-after {
		first--
	}
	for last+1 < len(p.peaks) && p.peaks[last+1].at < peak.at+before {
		last++
	}
	sum := 0.0
	for k := first; k <= last; k++ {
		other := &p.peaks[k]
		if other.pulses == nil {
			m.allow(other)
		}
		sum += float64(other.over * other.pulses.value(m.tools, peak.at-other.at))
	}
	over := math.Abs(peak.over)
	all := max(over, math.Copysign(1, peak.over)*sum)
	m.remove(peak, float64(p.step*peak.over)*(over/all))
}

// allow finds the pulses that the mask allows at a peak.
func (m *maskedClipper) allow(p *maskedPeak) {
	hop := int64(m.tools.hop)
	p.pulses = m.mask.at(max(0, (m.origin+int64(p.at)+hop/2)/hop))
}

// remove takes a pulse of a height, with its sign, off a peak.
func (m *maskedClipper) remove(p *maskedPeak, height float64) {
	t := m.tools
	whole := int(p.at)
	at := float64((p.at - float64(whole)) * float64(t.rows))
	row := int(at)
	w := bandlimit.Cubic(at - float64(row))
	for i := range w {
		w[i] *= height
	}
	from := whole - t.before
	kernel.AddScaledRows(m.removed[from:][:t.width], p.pulses.table[row*t.width:], t.width, &w)
	// Seen from halfway between two frames a peak lies half a frame later after the one before, or earlier after
	// that after.
	between := m.between[from:]
	if row += t.rows / 2; row >= t.rows {
		row -= t.rows
	} else {
		between = m.between[from-1:]
	}
	kernel.AddScaledRows(between[:t.width], p.pulses.table[row*t.width:], t.width, &w)
	for k := from / tile; k <= (from+t.before+t.after+2)/tile; k++ {
		m.dirty[k] = true
	}
}
