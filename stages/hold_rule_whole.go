package stages

import (
	"math"
	"sort"

	"ledgerline/stages/bandlimit"
)

// What is held in the whole band, in dB from the ceiling. The gaps between these levels save passes, and keep
// what has been held from being held again.
const (
	// A peak above -wholeOver is taken down to -wholeAim.
	wholeOver = 0.0012
	wholeAim  = 0.003
	// What a converter of rates leaves of a stretch is held if it passes lowFires. Then what passes lowOver is
	// taken down to lowAim.
	lowFires = 0.014
	lowOver  = 0.010
	lowAim   = 0.008
)

// cutAll finds the pulses by which the peaks of all linked channels come down to an aim. value is what a
// channel is at the place of a peak.
func (w *wholeBand) cutAll(aim, least float64, value func(of *wholeBand, at float64) float64) {
	for _, o := range w.linked {
		o.pulses, o.overs = o.pulses[:0], o.overs[:0]
		for _, p := range o.peaks {
			o.overs = append(o.overs, beyond(p, aim))
		}
		if len(w.linked) > 1 {
			o.weigh(value)
		}
	}
	for _, o := range w.linked {
		for i, p := range o.peaks {
			cut := o.cut(i, least)
			for c, other := range w.linked {
				height := cut
				if c != o.channel {
					height = float64(cut * o.shares[i*len(w.linked)+c])
				}
				if height != 0 {
					other.strike(p.At, height)
				}
			}
		}
	}
}

// cut is what peak i is to lose: as much as it is over, less where the pulses of others lower it as well, and
// more where they raise it, down to the least that they count for.
func (w *wholeBand) cut(i int, least float64) float64 {
	mine, over := w.peaks[i], w.overs[i]
	if over == 0 {
		return 0
	}
	sum := over
	for k := i - 1; k >= 0 && mine.At-w.peaks[k].At < bandlimit.Near; k-- {
		sum += float64(w.overs[k] * w.shape.At(math.Abs(mine.At-w.peaks[k].At)))
	}
	for k := i + 1; k < len(w.peaks) && w.peaks[k].At-mine.At < bandlimit.Near; k++ {
		sum += float64(w.overs[k] * w.shape.At(math.Abs(w.peaks[k].At-mine.At)))
	}
	own := over
	if len(w.linked) > 1 {
		near, here := w.fromOthers(i)
		sum, own = sum+near, own+here
	}
	if own *= least; sum/over < own/over {
		sum = own
	}
	return over * (over / sum)
}

// beyond is how far a peak is beyond an aim, with its sign.
func beyond(p bandlimit.Top, aim float64) float64 { return p.Height - math.Copysign(aim, p.Height) }

// weigh finds what the peaks of a channel take off the others, and lets each count as far as its channel
// leads there.
func (w *wholeBand) weigh(value func(of *wholeBand, at float64) float64) {
	w.shares = w.shares[:0]
	for i, p := range w.peaks {
		own, most := value(w, p.At), 0.0
		for _, other := range w.linked {
			share := 0.0
			if own != 0 {
				share = value(other, p.At) / own
			}
			w.shares = append(w.shares, share)
			most = max(most, math.Abs(share))
		}
		w.shares[i*len(w.linked)+w.channel] = 1
		w.overs[i] *= leads(most)
	}
}

// fromOthers is what the pulses of other channels, as high as their peaks are over, take off at peak i, and
// what of that comes of peaks at the same place.
func (w *wholeBand) fromOthers(i int) (sum, here float64) {
	at, sign := w.peaks[i].At, math.Copysign(1, w.overs[i])
	for c, other := range w.linked {
		if c == w.channel {
			continue
		}
		first := sort.Search(len(other.peaks), func(k int) bool { return other.peaks[k].At > at-bandlimit.Near })
		for k := first; k < len(other.peaks) && other.peaks[k].At-at < bandlimit.Near; k++ {
			share := other.shares[k*len(w.linked)+w.channel]
			distance := math.Abs(other.peaks[k].At - at)
			by := float64(float64(other.overs[k]*share) * w.shape.At(distance))
			sum += by
			here += float64(math.Copysign(max(sign*by, 0), sign) * samePlace(distance))
		}
	}
	return sum, here
}
