package meter

import (
	"math"
	"slices"

	"ledgerline/stages/portable"
)

// A loudness window is a number of segments, of 10 ms each.
const (
	perSecond = 100
	momentary = 40  // 400 ms
	shortTerm = 300 // 3 s
	step      = 10  // 100 ms between the blocks that are gated
)

// segmentStart is the frame at which segment k begins: 10 ms times k to the
// nearest frame, for rates at which 10 ms is no whole number of frames.
func segmentStart(rate int, k int64) int64 {
	return (k*int64(rate) + perSecond/2) / perSecond
}

// loudness turns the weighted energies of segments into loudness. All sums
// are made anew for each window: a running sum would keep the rounding of
// whatever was loud before.
type loudness struct {
	rate int
	n    int64 // segments heard

	// The last energies, over 1, 10 and 100 segments; that of segment k is
	// at k modulo the length.
	ones     [16]float64
	tens     [128]float64
	hundreds [256]float64

	steps []float64 // the energy of each whole 100 ms: an hour is 288 KB

	momentary, shortTerm float64 // the largest mean squares
}

// add takes the energy of the next segment: the sum over its frames and
// channels of weighted squares.
func (l *loudness) add(energy float64) {
	k := l.n
	l.n++
	l.ones[k%16] = energy
	var ten, hundred float64
	for i := k - 9; i <= k; i++ {
		ten += l.ones[i&15]
	}
	l.tens[k%128] = ten
	for i := k - 90; i <= k; i += 10 {
		hundred += l.tens[i&127]
	}
	l.hundreds[k%256] = hundred
	if k%step == step-1 {
		l.steps = append(l.steps, ten)
	}
	if l.n >= momentary {
		sum := (l.tens[(k-30)%128] + l.tens[(k-20)%128]) + (l.tens[(k-10)%128] + ten)
		l.momentary = max(l.momentary, l.mean(sum, momentary, l.n))
	}
	if l.n >= shortTerm {
		sum := l.hundreds[(k-200)%256] + l.hundreds[(k-100)%256] + hundred
		l.shortTerm = max(l.shortTerm, l.mean(sum, shortTerm, l.n))
	}
}

// mean is the mean square of an energy over the given number of segments
// before segment end.
func (l *loudness) mean(energy float64, segments, end int64) float64 {
	return energy / float64(segmentStart(l.rate, end)-segmentStart(l.rate, end-segments))
}

// blocks are the mean squares of all windows of that many segments, one every
// 100 ms, that reach the absolute gate.
func (l *loudness) blocks(segments int) []float64 {
	width := segments / step
	if len(l.steps) < width {
		return nil
	}
	gate := meanSquare(absoluteGate)
	b := make([]float64, 0, len(l.steps)-width+1)
	for end := width; end <= len(l.steps); end++ {
		if z := l.block(end, segments); z >= gate {
			b = append(b, z)
		}
	}
	return b
}

// block is the mean square of the window of that many segments that ends with so
// many whole 100 ms.
func (l *loudness) block(end, segments int) float64 {
	var sum float64
	for _, e := range l.steps[end-segments/step : end] {
		sum += e
	}
	return l.mean(sum, int64(segments), int64(end*step))
}

// Momentary is the loudness, in LUFS, of each 400 ms that end with a whole 100 ms of what the meter has
// heard, the first with the first 400 ms. Silence is -Inf.
func (m *Meter) Momentary() []float64 {
	l := m.endedLoudness()
	var all []float64
	for end := momentary / step; end <= len(l.steps); end++ {
		all = append(all, lufs(l.block(end, momentary)))
	}
	return all
}

// The gates of BS.1770-5 Annex 1 eq. (6), (7) and of EBU Tech 3342 section
// 3.1: a level, and a level below the mean of the blocks that pass the first.
const (
	absoluteGate   = -70 // LUFS
	integratedGate = 0.1 // -10 LU, as a ratio of mean squares
	rangeGate      = 0.01
)

// integrated is the loudness of the blocks above both gates, in LUFS. Here a block at a
// gate does not count (BS.1770-5 Annex 1 eq. (6) and (7)), but in the range it does
// (EBU Tech 3342 section 3.1).
func (l *loudness) integrated() float64 {
	gate := l.gate()
	var sum float64
	var n int
	for _, z := range l.blocks(momentary) {
		if z > gate {
			sum += z
			n++
		}
	}
	if n == 0 {
		return math.Inf(-1)
	}
	return lufs(sum / float64(n))
}

// gate is the mean square that a block of 400 ms has to pass to count: that of the
// higher of both gates. It is NaN, which nothing passes, where nothing passes the
// absolute one.
func (l *loudness) gate() float64 {
	absolute := meanSquare(absoluteGate)
	b := slices.DeleteFunc(l.blocks(momentary), func(z float64) bool { return z <= absolute })
	return max(absolute, average(b)*integratedGate)
}

// spread is the loudness range, in LU; -Inf where no 3 s pass the gate.
func (l *loudness) spread() float64 {
	b := l.blocks(shortTerm)
	gate := average(b) * rangeGate
	b = slices.DeleteFunc(b, func(z float64) bool { return z < gate })
	if len(b) == 0 {
		return math.Inf(-1)
	}
	slices.Sort(b)
	// Places count from 1 and are rounded: (n-1) p/100 + 1.
	place := func(percent int) float64 { return b[((len(b)-1)*percent+50)/100] }
	return lufs(place(95)) - lufs(place(10))
}

func average(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// lufs is the loudness of a weighted mean square, BS.1770-5 Annex 1 eq. (2).
func lufs(meanSquare float64) float64 { return -0.691 + float64(10*portable.Log10(meanSquare)) }

func meanSquare(lufs float64) float64 { return portable.Exp10((lufs + 0.691) / 10) }
