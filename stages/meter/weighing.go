package meter

import "ledgerline/stages/kernel"

// weighing finds the weighted energy of segments.
type weighing struct {
	kernel kWeighting
	pairs  []pair
}

// A pair is two channels, which are weighed side by side. The last one of an odd number
// is paired with itself, for nothing.
type pair struct {
	channel [2]int
	weight  [2]float64
	states  kernel.States
}

// newWeighing pairs the channels that have a weight.
func newWeighing(rate int, weights []float64) weighing {
	w := weighing{kernel: newKWeighting(rate)}
	lone := false
	for c, weight := range weights {
		if weight == 0 {
			continue
		}
		if lone = !lone; lone {
			w.pairs = append(w.pairs, pair{channel: [2]int{c, c}})
		}
		p, i := &w.pairs[len(w.pairs)-1], 1
		if lone {
			i = 0
		}
		p.channel[i], p.weight[i] = c, weight*w.kernel.power
	}
	return w
}

// energy is the sum over the frames and channels of a segment of their weighted squares.
func (w *weighing) energy(channels []channel, from, to int) (energy float64) {
	for i := range w.pairs {
		p := &w.pairs[i]
		a, b := w.kernel.Sum(channels[p.channel[0]].x[from:to], channels[p.channel[1]].x[from:to], &p.states)
		energy += float64(p.weight[0] * a)
		energy += float64(p.weight[1] * b)
		dropFaint(&p.states)
	}
	return energy
}
