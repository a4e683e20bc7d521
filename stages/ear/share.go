package ear

import "math"

// A share is what a band has of the bins: weights of bins from the first on, which have in them how much of the bin
// lies in the band, the ear's weight and the calibration.
type share struct {
	first   int
	weights []float64
}

// shareOf is the share of a band between two places, in bins. Bin k reaches half a bin to both sides. [2.1.5.1]
func shareOf(from, to float64, weights []float64) share {
	first := int(math.Floor(from + 0.5))
	s := share{first: first}
	for k := first; k < len(weights); k++ {
		part := min(to, float64(k)+0.5) - max(from, float64(k)-0.5)
		if part <= 0 {
			break
		}
		s.weights = append(s.weights, part*weights[k])
	}
	return s
}

// sum adds what a band has of the powers of the bins.
func (s *share) sum(powers []float64) float64 {
	x := powers[s.first:][:len(s.weights)]
	total := 0.0
	for i, w := range s.weights {
		total += float64(w * x[i])
	}
	return max(total, leastPower)
}

// inBands sets the powers of the bands, at least the least, from those of the bins.
func (m *Model) inBands(bands, bins []float64) {
	for k := range m.shares {
		bands[k] = m.shares[k].sum(bins)
	}
}
