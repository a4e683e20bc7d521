package stages

import (
	"math"
	"sort"

	"ledgerline/stages/bandlimit"
)

// What is held in the whole band, in dB from the ceiling. The gaps between these levels save passes, and keep
// what has been held from being held again.
const (
	// A peak above the ceiling is taken down to -wholeAim, and one that pulses may have raised if it is above
	// -wholeOver. What is left of peaks lies between those two, so that a hop and the next agree as far.
	wholeOver = 0.0012
	wholeAim  = 0.0022
	// Likewise of what a converter of rates leaves of a stretch: what passes lowFires, or lowOver, is taken down
	// to lowAim.
	lowFires = 0.014
	lowOver  = 0.012
	lowAim   = 0.011
	// rereads is how much lower than the levels at which a hop acts peaks may be that are held in it, or what is
	// read again would act again: a hop is judged by filters of its own.
	rereads = 0.0003
	// wholeNear times what pulses near a peak have taken off is how far its level is lowered for it, down to
	// those. It may not jump between peaks with and without pulses near them.
	wholeNear = 0.1
	// A peak that is over by little loses so many times that, and not at once as much as takes it to the aim:
	// of two alike, one that is just over and one that is not would be far apart.
	softly = 3
	// wholeLeast is the least that a peak's neighbours count for, as a part of what it is over itself.
	wholeLeast = 0.85
)

// wholeLevels are what peaks may rise to where there are no pulses near them, and where there are.
func (w *wholeBand) wholeLevels(low bool) (alone, near float64) {
	if low {
		return w.ceiling * Linear(lowFires-rereads), w.ceiling * Linear(lowOver)
	}
	return w.ceiling * Linear(-rereads), w.ceiling * Linear(-wholeOver)
}

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

// beyond is how much of a peak is over, with its sign: what there is above an aim, but no more than softly
// times what there is above its level.
func beyond(p bandlimit.Found, aim float64) float64 {
	high := math.Abs(p.Height)
	return math.Copysign(min(high-aim, float64(softly*(high-p.Level))), p.Height)
}

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
