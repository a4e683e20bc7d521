package ear

import (
	"math"

	"ledgerline/stages/portable"
)

// A Reading is what was done between two signals, against the mask. Each figure is that of its own worst
// channel: their mean in dB would fall without end where a channel is left alone.
type Reading struct {
	NoiseToMask    Figure   // dB: the mean over windows and bands, total NMR [71]; -Inf where nothing was done
	Disturbed      Figure   // percent of the windows that have a band 1.5 dB or more above the mask [4.6]
	WorstNoise     Figure   // the largest NoiseToMask of 15 s on end, or of the whole where that is shorter
	WorstDisturbed Figure   // the largest Disturbed of 15 s on end likewise
	Moments        []Moment // the ten worst that are a second or more from each other, in that order
	Channels       []ChannelReading
	Windows        int64 // that counted, of each channel
}

// A ChannelReading has the figures of one channel.
type ChannelReading struct{ NoiseToMask, Disturbed, WorstNoise, WorstDisturbed Figure }

// A Figure is a value, the channel that it was found in, and the frame that the stretch begins with.
type Figure struct {
	Value   float64
	Channel int
	Frame   int64
}

// A Moment is where the noise comes furthest over the mask.
type Moment struct {
	Frame    int64 // where the window's samples differ most
	Channel  int
	Band     Band
	OverMask float64 // dB, above 0
}

// reading makes figures of scores, one a channel.
func (m *Model) reading(scores []score, moments *moments) Reading {
	var r Reading
	for c := range scores {
		s := &scores[c].now
		hop := int64(m.hop)
		windows := float64(s.windows)
		stretch := float64(min(s.windows, scores[c].length))
		one := ChannelReading{
			NoiseToMask:    Figure{decibels(s.noise / windows), c, s.first * hop},
			Disturbed:      Figure{100 * float64(s.disturbed) / windows, c, s.first * hop},
			WorstNoise:     Figure{decibels(s.worstNoise.value / stretch), c, s.worstNoise.window * hop},
			WorstDisturbed: Figure{100 * s.worstDisturbed.value / stretch, c, s.worstDisturbed.window * hop},
		}
		r.Channels, r.Windows = append(r.Channels, one), s.windows
		if c == 0 {
			r.NoiseToMask, r.Disturbed, r.WorstNoise, r.WorstDisturbed = one.NoiseToMask, one.Disturbed,
				one.WorstNoise, one.WorstDisturbed
			continue
		}
		r.NoiseToMask = worse(r.NoiseToMask, one.NoiseToMask)
		r.Disturbed = worse(r.Disturbed, one.Disturbed)
		r.WorstNoise = worse(r.WorstNoise, one.WorstNoise)
		r.WorstDisturbed = worse(r.WorstDisturbed, one.WorstDisturbed)
	}
	for _, o := range moments.found() {
		r.Moments = append(r.Moments, Moment{o.frame, o.channel, m.bands[o.band], decibels(o.over)})
	}
	return r
}

// worse is the larger of two, or the first.
func worse(a, b Figure) Figure {
	if b.Value > a.Value {
		return b
	}
	return a
}

func decibels(ratio float64) float64 {
	if ratio == 0 {
		return math.Inf(-1)
	}
	return 10 * portable.Log10(ratio)
}
