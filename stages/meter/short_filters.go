package meter

import (
	"math"
	"sync"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

// A shortFilter interpolates with few taps: each of its phases makes one value a frame, from as many
// samples as it has taps. It is not flat, lets images through, and so reads the same signal higher or
// lower depending on where its samples lie.
type shortFilter struct {
	phases  []shortPhase
	samples bool // one of its phases, which is not among these, passes the samples unchanged
}

// A shortPhase is one phase, with two bounds of what it makes of samples whose magnitude is at most
// peak and whose second differences are at most d: gain*peak, and level*peak + bend*d.
type shortPhase struct {
	taps              []float64 // the first is for the earliest sample
	filter            *kernel.Filter
	gain, level, bend float64
}

// newShortPhase takes taps of which the first is for the latest sample, as they are published.
//
// A straight line through two samples next to each other, with the sum and the first moment of the taps,
// differs from the taps by weights without either, so that summing by parts twice leaves second
// differences alone, but for rounding.
func newShortPhase(published []float64) shortPhase {
	n := len(published)
	p := shortPhase{taps: make([]float64, n)}
	var sum, moment float64
	for i := range p.taps {
		h := published[n-1-i]
		p.taps[i] = h
		p.gain += math.Abs(h)
		sum += h
		moment += float64(float64(i) * h)
	}
	p.filter = kernel.NewFilter(p.taps)
	first := math.Floor(moment / sum)
	second := moment - float64(first*sum) // the line's weight for the sample after the first
	rest := append([]float64(nil), p.taps...)
	rest[int(first)] -= sum - second
	rest[int(first)+1] -= second
	bend, left := bandlimit.ByParts(rest)
	p.level, p.bend = math.Abs(sum-second)+math.Abs(second)+left, bend
	return p
}

// bs1770Taps is the filter of ITU-R BS.1770-5, Annex 2, section 3: phases 0 and 1, in units of
// 2^-13. Phases 3 and 2 are these reversed.
var bs1770Taps = [2][12]float64{
	{14, 90, -161, 272, -487, 1125, 7964, -838, 390, -218, 122, -68},
	{-239, 240, -424, 730, -1364, 3810, 6388, -1641, 832, -477, 271, -155},
}

// bs1770 is that filter. The recommendation gives it for 48 kHz; the same phases are used at every rate.
// None of them passes the samples unchanged, so it may read lower than the sample peak.
var bs1770 = sync.OnceValue(func() *shortFilter {
	f := &shortFilter{}
	for p := range 4 {
		taps := make([]float64, 12)
		for i := range taps {
			if p < 2 {
				taps[i] = bs1770Taps[p][i] / (1 << 13)
			} else {
				taps[i] = bs1770Taps[3-p][11-i] / (1 << 13)
			}
		}
		f.phases = append(f.phases, newShortPhase(taps))
	}
	return f
})

// sinc49 is, for each rate, a sinc of 49 taps at factor times the rate under a Hann window that is 0 at
// the first and the last of them: four times below 96 kHz, twice below 192 kHz, and not at all from
// there on, where only the samples count. Its phase 0 has but one tap that is not 0 and passes the samples.
func sinc49(rate int) *shortFilter {
	switch {
	case rate < 96000:
		return sinc49Four()
	case rate < 192000:
		return sinc49Two()
	}
	return &shortFilter{samples: true}
}

var (
	sinc49Four = sync.OnceValue(func() *shortFilter { return newSinc49(4) })
	sinc49Two  = sync.OnceValue(func() *shortFilter { return newSinc49(2) })
)

func newSinc49(factor int) *shortFilter {
	const last = 48
	f := &shortFilter{samples: true}
	for p := 1; p < factor; p++ {
		var taps []float64
		for j := p; j <= last; j += factor {
			at := float64(j-last/2) / float64(factor) // in samples from the middle
			window := 0.5 - float64(0.5*portable.CosPi(2*float64(j)/last))
			taps = append(taps, window*portable.SinPi(at)/(math.Pi*at))
		}
		f.phases = append(f.phases, newShortPhase(taps))
	}
	return f
}
