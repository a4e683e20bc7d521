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

// sum adds what a band has of the powers of the bins, in four lanes.
func (s *share) sum(powers []float64) float64 {
	w, x := s.weights, powers[s.first:][:len(s.weights)]
	var a, b, c, d float64
	for ; len(w) >= 4; w, x = w[4:], x[4:] {
		w, x := (*[4]float64)(w), (*[4]float64)(x)
		a += float64(w[0] * x[0])
		b += float64(w[1] * x[1])
		c += float64(w[2] * x[2])
		d += float64(w[3] * x[3])
	}
	x = x[:len(w)]
	for i, v := range w {
		a += float64(v * x[i])
	}
	return max((a+b)+(c+d), leastPower)
}

// inBands sets the powers of the bands, at least the least, from those of the bins.
func (m *Model) inBands(bands, bins []float64) {
	for k := range m.shares {
		bands[k] = m.shares[k].sum(bins)
	}
}
