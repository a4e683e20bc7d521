package kernel

import "math"

// A Section is a filter of second order that is given x and returns y, with two states:
//
//	y   = First*s1 + Second*s2
//	s1' = Stay*s1 + Over*s2
//	s2' = Back*s1 + Stay*s2 + x
type Section struct{ Stay, Over, Back, First, Second float64 }

// A Weighing is a filter that sums its input and what two sections make of it, for two
// channels at a time.
//
// It works on four frames at once, which need the states only of before the first: what
// the four inputs and states each give to the four outputs, and to the next states, is
// worked out beforehand. A table's rows have the frames, or states, side by side, and
// each twice, for the two channels.
type Weighing struct {
	outs   [8][8]float64 // of the inputs 0 to 3 and the states 0 to 3
	nexts  [4][8]float64 // of the inputs 0 to 3
	stay   [8]float64    // of each state to itself
	change [8]float64    // of the other state of the same section
	one    [2]Section
}

// States are the states of a Weighing: s1 and s2 of the first section, then of the
// second, each for both channels.
type States [8]float64

// NewWeighing makes the tables of two sections.
func NewWeighing(sections [2]Section) *Weighing {
	w := &Weighing{one: sections}
	for f := range 4 {
		set(&w.outs[f], f, 1)
	}
	for i, c := range sections {
		// s is what an input of 1 makes of the states, one frame later each time.
		s := [2]float64{0, 1}
		for later := range 4 {
			y := float64(c.First*s[0]) + float64(c.Second*s[1])
			for f := later + 1; f < 4; f++ {
				add(&w.outs[f-later-1], f, y)
			}
			set(&w.nexts[3-later], 2*i, s[0])
			set(&w.nexts[3-later], 2*i+1, s[1])
			s = c.rest(s)
		}
		for k := range 2 {
			s := [2]float64{}
			s[k] = 1
			for f := range 4 {
				set(&w.outs[4+2*i+k], f, float64(c.First*s[0])+float64(c.Second*s[1]))
				s = c.rest(s)
			}
			set(&w.stay, 2*i+k, s[k])
			set(&w.change, 2*i+1-k, s[1-k])
		}
	}
	return w
}

// rest is the states after a frame of silence.
func (c Section) rest(s [2]float64) [2]float64 {
	return [2]float64{float64(c.Stay*s[0]) + float64(c.Over*s[1]), float64(c.Back*s[0]) + float64(c.Stay*s[1])}
}

func set(row *[8]float64, i int, v float64) { row[2*i], row[2*i+1] = v, v }

func add(row *[8]float64, i int, v float64) { set(row, i, row[2*i]+v) }

// Sum filters x and y, two channels of one length and all of it finite, from the states
// s on, and returns the sums of the squares of what comes out. It panics if y is
// shorter than x.
func (w *Weighing) Sum(x, y []float64, s *States) (sumX, sumY float64) {
	y = y[:len(x)]
	n := len(x) &^ 7
	var e [8]float64
	if n > 0 {
		weigh(x[:n], y[:n], w, s, &e)
	}
	sumX, sumY = (e[0]+e[2])+(e[4]+e[6]), (e[1]+e[3])+(e[5]+e[7])
	for i := n; i < len(x); i++ {
		sumX = w.frame(x[i], s, 0, sumX)
		sumY = w.frame(y[i], s, 1, sumY)
	}
	return sumX, sumY
}

// frame filters one sample of a channel and adds the square of what comes out.
func (w *Weighing) frame(x float64, s *States, channel int, sum float64) float64 {
	y := x
	for i := range w.one {
		c := &w.one[i]
		s1, s2 := &s[4*i+channel], &s[4*i+2+channel]
		y = math.FMA(c.Second, *s2, math.FMA(c.First, *s1, y))
		*s1, *s2 = math.FMA(c.Over, *s2, float64(c.Stay**s1)), math.FMA(c.Stay, *s2, math.FMA(c.Back, *s1, x))
	}
	return math.FMA(y, y, sum)
}
