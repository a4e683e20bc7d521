package meter

import (
	"math"
	"slices"

	"ledgerline/stages/bandlimit"
	"ledgerline/stages/kernel"
)

// A margin bounds a peak y that is interpolated somewhere between known values
// a, b, ...:
//
//	|y| <= max(|a|, |b|, ...) + bend * (largest second difference around)
//	                          + edge * sqrt(how much there is around near half the rate)
//	                          + rest * (largest magnitude around)
//
// y minus the straight line through the two known values about it is a sum over the
// signal whose weights add up to almost nothing. Summing by parts twice makes it a sum
// over second differences, whose weights' magnitudes add up to bend, and leaves rest.
// Programme is smooth from sample to sample, so this is far tighter than the plain
// bound, |y| <= gain * (largest magnitude around).
//
// But the filter is long, and so is what lies around. Its far taps only tell what lies
// near half the rate, of which there is little, and not always any nearby: edge bounds
// what they do (see findEdge), and bend is then for a short filter, the rough one.
type margin struct{ bend, edge, rest float64 }

// shares are how much the cells nearby, from the first on, count in an around's edge. Any that are
// more than 0 make a bound. These are about the roots of what the cells' parts of the taps have of the
// sum of all their squares, which is best for a signal that has as much near half the rate in each cell.
var shares = [2*nearby + 1]float64{0.01, 0.1, 0.6, 1, 0.6, 0.1, 0.01}

// around is what the signal is like around the samples at hand.
type around struct {
	bend float64 // the largest second difference
	edge float64 // the sum of the squares of what the edge filter lets pass, each cell's times its share
}

// findMargins bounds the peaks in an interval by the samples at its ends, without and
// with edge, by the rough value half way, too, and by all rough points.
func (k *interpolator) findMargins() {
	full, rough := k.rows(k.full.Taps), k.rows(k.rough.Taps)
	left, middle, right := 1, 1+grid/2, 1+grid
	k.gain = gain(full)
	k.cell = newMargin(full, full[left], full[right])
	edge := k.findEdge()
	k.samples = newMargin(rough, rough[left], rough[right]).plus(edge)
	k.middles = newMargin(rough, rough[left], rough[middle], rough[right]).plus(edge)
	k.points = edge
}

func (m margin) plus(n margin) margin {
	return margin{m.bend + n.bend, m.edge + n.edge, m.rest + n.rest}
}

// rows are the weights of the points at -1/16, 0, 1/16 ... 17/16 of an interval: what
// the samples from reach before its first to reach after its last give to them, if the
// values half way between two samples have the given taps.
func (k *interpolator) rows(taps []float64) (rows [][]float64) {
	const samples = 2 * (reach + 1)
	middle := make([]float64, samples)
	copy(middle[reach+1-len(taps)/2:], taps)
	var doubled [15][]float64
	for i := range doubled {
		doubled[i] = make([]float64, samples)
		if i%2 == 0 {
			doubled[i][reach-3+i/2] = 1
		} else {
			copy(doubled[i][i/2:], middle[3:])
		}
	}
	half := func(u [][]float64, from, to int) {
		for d := from; d <= to; d++ {
			row := make([]float64, samples)
			for j := range u {
				for i, w := range u[j] {
					row[i] += float64(k.taps[1+d][j] * w)
				}
			}
			rows = append(rows, row)
		}
	}
	half(doubled[:14], -1, grid/2)
	half(doubled[1:], 1, grid/2+1)
	return rows
}

// arch is how far the parabola through point p and its neighbours rises above it at
// most, if at all: an eighth of their second difference.
func arch(rows [][]float64, p int) []float64 {
	a := make([]float64, len(rows[p]))
	for j := range a {
		a[j] = (float64(2*rows[p][j]) - rows[p-1][j] - rows[p+1][j]) / 8
	}
	return a
}

// gain is how far a peak can pass the largest magnitude.
func gain(rows [][]float64) (gain float64) {
	for p := 1; p < len(rows)-1; p++ {
		gain = max(gain, magnitudes(rows[p])+magnitudes(arch(rows, p)))
	}
	return gain
}

// newMargin is the margin over all points of an interval when its ends and the values
// that cut it into equal parts are known, by their weights.
func newMargin(rows [][]float64, known ...[]float64) (m margin) {
	const last = grid
	width := last / (len(known) - 1)
	for p := 0; p <= last; p++ {
		part := min(p/width, len(known)-2)
		t := float64(p-part*width) / float64(width)
		line := make([]float64, len(rows[p]))
		for j, w := range rows[1+p] {
			line[j] = w - float64((1-t)*known[part][j]) - float64(t*known[part+1][j])
		}
		bend, rest := bandlimit.ByParts(line)
		archBend, archRest := bandlimit.ByParts(arch(rows, 1+p))
		m.bend = max(m.bend, bend+archBend)
		m.rest = max(m.rest, rest+archRest)
	}
	return m
}

// findEdge bounds how far a peak of the interpolated signal can pass the rough one's.
//
// A value half way differs from the rough one by a sum over the signal, whose weights, as a filter,
// let pass little but what lies near half the rate. That the edge filter leaves nearly as it is, so
// that the weights do to what it lets pass nearly what they do to the signal; what they miss is given to
// them again, and so on. The squares of the taps that come of this are what edge is made of, by the
// inequality of Cauchy and Schwarz, and what is missed in the end is left to rest.
func (k *interpolator) findEdge() margin {
	const middle = kernel.EdgeTaps / 2
	weights := slices.Clone(k.full.Taps)
	for i, h := range k.rough.Taps {
		weights[halfTaps-roughTaps+i] -= h
	}
	taps := make([]float64, len(weights)-2*middle)
	for range 32 {
		missed := slices.Clone(weights[middle:][:len(taps)])
		for i, w := range missed {
			taps[i] += w
			for j, h := range k.edge {
				weights[i+j] -= float64(h * w)
			}
		}
	}
	const points = reach - halfTaps // the values half way that they need to each side of a cell's
	var most float64
	for n := -points; n < cellFrames+points; n++ {
		most = max(most, shared(taps, n))
	}
	spread := max(k.spread(0), k.spread(1))
	return margin{edge: spread * math.Sqrt(most), rest: spread * magnitudes(weights)}
}

// shared is the sum of the squares of the taps, over the shares of the cells in which that ends of the
// edge which they meet, for the value half way after sample n of a cell.
func shared(taps []float64, n int) (sum float64) {
	end := nearby*cellFrames + n - halfTaps + kernel.EdgeTaps // of what the first meets
	for i, w := range taps {
		sum += w * w / shares[(end+i)/cellFrames]
	}
	return sum
}

// spread is how far a peak of the points can change if every second of the values
// around changes by 1: the largest point, and twice an eighth of the largest step to
// another, for the parabola (see kernel.Eighths.Bound).
func (k *interpolator) spread(odd int) float64 {
	var point, step float64
	for d := range k.taps {
		var size, change float64
		for j := odd; j < len(k.taps[d]); j += 2 {
			size += math.Abs(k.taps[d][j])
			if d > 0 {
				change += math.Abs(k.taps[d][j] - k.taps[d-1][j])
			}
		}
		point, step = max(point, size), max(step, change)
	}
	return point + float64(step/4)
}

func magnitudes(w []float64) (sum float64) {
	for _, v := range w {
		sum += math.Abs(v)
	}
	return sum
}
