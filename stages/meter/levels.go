package meter

import "math"

// levels are the figures of plain samples, over all channels.
type levels struct {
	squares float64 // sum

	peak        float64
	peakFrame   int64
	peakChannel int

	nonFinite        int64
	nonFiniteFrame   int64
	nonFiniteChannel int
}

func newLevels() levels {
	return levels{peakFrame: -1, peakChannel: -1, nonFiniteFrame: -1, nonFiniteChannel: -1}
}

// add takes the cell x of a channel, which begins at a frame, and its peak.
func (l *levels) add(x []float64, peak float64, frame int64, channel int) {
	if peak < l.peak || peak == 0 {
		return
	}
	// Channels of one stretch come one after the other, so the same peak may
	// turn up again earlier.
	if peak == l.peak && frame >= l.peakFrame {
		return
	}
	for i, v := range x {
		if math.Abs(v) != peak {
			continue
		}
		if at := frame + int64(i); peak > l.peak || at < l.peakFrame {
			l.peak, l.peakFrame, l.peakChannel = peak, at, channel
		}
		return
	}
}

// huge is the largest magnitude that is reckoned with: 2000 dB over full
// scale. It keeps every figure finite.
const huge = 1e100

// tame makes x, which begins at a frame, fit to be reckoned with. Samples that
// are no numbers are counted and become 0.
func (l *levels) tame(x []float64, frame int64, channel int) {
	first := int64(-1)
	for i, v := range x {
		switch {
		case math.IsNaN(v) || math.IsInf(v, 0):
			x[i] = 0
			l.nonFinite++
			if first < 0 {
				first = frame + int64(i)
			}
		case math.Abs(v) > huge:
			x[i] = math.Copysign(huge, v)
		}
	}
	if first >= 0 && (l.nonFiniteFrame < 0 || first < l.nonFiniteFrame) {
		l.nonFiniteFrame, l.nonFiniteChannel = first, channel
	}
}
