package ear

import (
	"math"

	"ledgerline/stages/kernel/spectra"
)

// shares are what the bands have of the bins: weights of bins from one on, which have in them how much of the
// bin lies in the band, the ear's weight and the calibration. They are filled up with zeros to whole vectors.
type shares struct {
	parts   []spectra.Part4
	weights []float64
	bins    int // how many there are to be
}

// add takes in a band between two places, in bins. Bin k reaches half a bin to both sides. It reports whether
// there is any bin in the band. [2.1.5.1]
func (s *shares) add(from, to float64, weights []float64) bool {
	first := int(math.Floor(from + 0.5))
	used := len(s.weights)
	for k := first; k < len(weights); k++ {
		part := min(to, float64(k)+0.5) - max(from, float64(k)-0.5)
		if part <= 0 {
			break
		}
		s.weights = append(s.weights, part*weights[k])
	}
	n := len(s.weights) - used
	if n == 0 {
		return false
	}
	for len(s.weights)%4 > 0 {
		s.weights = append(s.weights, 0)
	}
	s.parts = append(s.parts, spectra.Part4{From: first, Vectors: (n + 3) / 4})
	s.bins = max(s.bins, first+(n+3)&^3)
	return true
}

// inBands sets the powers of the bands, from the least to the most, from those of the bins.
func (m *Model) inBands(bands, bins []float64) {
	bands = bands[:len(m.bands)]
	spectra.Sums(bands, bins[:m.shares.bins], m.shares.weights, m.shares.parts)
	for k, p := range bands {
		if !(p < mostPower) {
			p = mostPower // also of what is no number
		}
		bands[k] = max(p, leastPower)
	}
}
