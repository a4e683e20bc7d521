package track

import (
	"math"
	"math/bits"
	"slices"

	"ledgerline/pipeline/along"
	"ledgerline/stages"
	"ledgerline/stages/kernel"
)

// Levels are counted in steps of 0.1 dB from 4 dB below the ceiling to 12 dB above it; the last step has what
// is beyond.
const (
	nearFromDB = -4.0
	nearStepDB = 0.1
	nearSteps  = 160
)

// near counts samples by their magnitude near a ceiling.
type near struct {
	ceiling       float64
	edges         [nearSteps + 1]float64 // magnitudes that steps begin with; the last is infinite
	first         uint64                 // of the spans by the leading bits of a magnitude
	spans         []span
	samples       int64
	before, after []int64
}

// leading is how many bits after the exponent tell magnitudes apart: two that share them are less than a step
// apart.
const leading = 7

// A span is the magnitudes that share their leading bits.
type span struct {
	step uint64 // of the least of them
	last uint64 // the bits of the largest magnitude in that step
}

func newNear(ceiling float64) *near {
	n := &near{ceiling: ceiling, before: make([]int64, nearSteps), after: make([]int64, nearSteps)}
	for k := range nearSteps {
		n.edges[k] = float64(ceiling * stages.Linear(nearFromDB+float64(float64(k)*nearStepDB)))
	}
	n.edges[nearSteps] = math.Inf(1)
	n.first = math.Float64bits(n.edges[0]) >> (52 - leading)
	last := math.Float64bits(n.edges[nearSteps-1]) >> (52 - leading)
	for k := n.first; k <= last; k++ {
		least := math.Float64frombits(k << (52 - leading))
		step := 0
		for n.edges[step+1] <= least {
			step++
		}
		n.spans = append(n.spans, span{uint64(step), math.Float64bits(n.edges[step+1]) - 1})
	}
	return n
}

// count counts the samples above the first edge. Where one is there are often more, else there is none for
// long.
func (n *near) count(counts []int64, x []float64) {
	for len(x) >= 32 {
		group := (*[32]float64)(x)
		set := kernel.Above(group, n.edges[0])
		for left := set; left != 0; left &= left - 1 {
			counts[n.step(group[bits.TrailingZeros32(left)%32])]++
		}
		x = x[32:]
		if set == 0 {
			x = x[kernel.Within(x, n.edges[0]):]
		}
	}
	for _, v := range x {
		if math.Abs(v) > n.edges[0] {
			counts[n.step(v)]++
		}
	}
}

// step is the step of a sample above the first edge. The bits of magnitudes are in their order.
func (n *near) step(v float64) uint64 {
	size := math.Float64bits(v) &^ (1 << 63)
	k := size>>(52-leading) - n.first
	if k >= uint64(len(n.spans)) {
		return nearSteps - 1
	}
	s := &n.spans[k]
	return s.step + (s.last-size)>>63 // 1 more where the size is beyond the last, for no branch to be guessed
}

// record is what was counted, nil if there were no samples.
func (n *near) record() *along.Near {
	if n.samples == 0 {
		return nil
	}
	return &along.Near{
		CeilingDBFS: math.Round(stages.DB(n.ceiling)*1e4) / 1e4, FromDB: nearFromDB, StepDB: nearStepDB,
		Samples: n.samples,
		Before:  trimmed(n.before), After: trimmed(n.after),
	}
}

// trimmed is x without the zeros at its end.
func trimmed[T int32 | int64](x []T) []T {
	for len(x) > 0 && x[len(x)-1] == 0 {
		x = x[:len(x)-1]
	}
	return slices.Clip(x)
}
