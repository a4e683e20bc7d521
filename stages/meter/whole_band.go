package meter

import (
	"math"
	"math/bits"
	"slices"
	"sync"

	"ledgerline/stages/bandlimit"
)

// The search for the true peak interpolates with a filter that is right up to 21.8/44.1 of the rate. What
// lies beyond, as in white noise or after a clip at the track's rate, it sees only in part, and sees an image
// of it: such a signal may be 0.14 dB higher or lower than it reads. Most signals have nothing there that
// makes a difference, and a cell of such a signal costs a look at what is known of it anyway: what the edge
// filter lets pass (see findEdge), which is all above 18/44.1 of the rate. Where that is more than nearSpared
// of the largest sample nearby, a filter tells what there is above 21.7/44.1.
//
// Where that, too, may make a difference, the cell's peaks are apart: they do not count as they are, and the
// search looks for those that nearTakes times it could lift above the largest peak so far. They are read by
// the Fourier transform of a stretch of 16384 frames around, when that has come in, unless by then there is a
// peak that they cannot pass. Stretches are counted from the signal's first frame, in hops of half a stretch,
// and of each the middle half is read.
//
// What a cell counts as is told by what is around it alone, and not by what else there is in the signal: so
// the largest true peak of the parts of a signal is its own (see Before).
//
// No sample need be looked at closer because of what is near half the rate than without: it has second
// differences four times as large as it is, and the bounds by these allow for more than that.
type wholeBand struct {
	x     []float64 // the stretch, beginning at its middle every second time
	begin int       // of the stretch in x: 0 or half of it
	fill  int       // frames of the stretch that have come in
	// of the channel's cells: how much is near half the rate at their first frames; -1: not yet known
	nears []float64
	marks []wholeMark
	reads int // transforms so far
}

// A wholeMark is a tile of a stretch whose peaks, none of which is above a bound, have to be transformed.
type wholeMark struct {
	tile     int
	from, to int // frames of it that are the signal's
	bound    float64
}

const (
	wholeHop   = bandlimit.WholeFrames / 2
	wholeTiles = bandlimit.WholeFrames / bandlimit.Tile
	wholeFirst = wholeTiles / 4 // the first tile of the hop

	// wholeBefore and wholeAfter are how many frames around a signal are in stretches of it.
	wholeBefore = wholeHop
	wholeAfter  = wholeHop + wholeHop/2

	// nearTakes times what the filters tell of is the most that the search may misread: that much where it sees
	// neither the signal nor its image, and half as much again for what changes from cell to cell.
	nearTakes = 1.5
	// nearSpared is the part of the largest sample nearby that makes no difference, 0.013 dB.
	nearSpared = 1.5e-3
	// inaudible is the magnitude below which nothing is transformed: a quotient of such values may be no number.
	inaudible = 1e-200
)

// A wholeReader reads a stretch, which it puts in order first. What it reads does not depend on what it read
// before.
type wholeReader struct {
	*bandlimit.WholeBand
	x [bandlimit.WholeFrames]float64
}

// wholeReaders are shared by all meters.
var wholeReaders = sync.Pool{New: func() any { return &wholeReader{WholeBand: bandlimit.NewWholeBand()} }}

func (r *wholeReader) load(w *wholeBand) {
	n := copy(r.x[:], w.x[w.begin:])
	copy(r.x[n:], w.x)
	r.Load(r.x[:])
}

func newWholeBand(cells int) *wholeBand {
	return &wholeBand{
		x:     make([]float64, bandlimit.WholeFrames),
		fill:  wholeBefore, // the middle of the first stretch is half a hop before the signal and half of one in it
		nears: make([]float64, cells),
		marks: make([]wholeMark, 0, 2*wholeTiles),
	}
}

// mayNear is no less than near, by what is known of the cell anyway; 0 where that makes no difference to a
// level.
func (c *channel) mayNear(k int, level float64) float64 {
	// A tone's mean square is half that of its amplitude.
	near := float64(nearTakes * math.Sqrt(largest(c.edges[k-nearby:k+nearby+1])*(2.0/cellFrames)))
	if near <= level {
		return 0
	}
	return near
}

// near is how much what is near half the rate may change a peak in cell k, 0 where that makes no difference
// to a level. What is so near half the rate changes its size slowly, and the filter knows nothing later than
// the next cell.
func (c *channel) near(k int, level float64) float64 {
	nears := c.whole.nears
	for i := k - 2; i <= k+1; i++ {
		if nears[i] < 0 {
			nears[i] = bandlimit.NearMost(c.x, i*cellFrames)
		}
	}
	if near := float64(nearTakes * largest(nears[k-2:k+2])); near > level {
		return near
	}
	return 0
}

// mark has cell k of the channel, whose stretch has not been pushed yet, transformed. Some of its frames are
// the signal's.
func (w *wholeBand) mark(c *channel, k int, own uint64, bound float64) {
	tile := w.fill/cellFrames + k - (len(c.peaks) - stretchCells)
	w.marks = append(w.marks, wholeMark{tile, bits.TrailingZeros64(own), bits.Len64(own), bound})
}

// push takes the stretch that the channel has just been searched for, and returns the largest peak of a hop
// that has come in, unless top is larger, and the largest that is sure.
func (w *wholeBand) push(x []float64, top float64) (peak, sure float64) {
	copy(w.x[(w.begin+w.fill)%bandlimit.WholeFrames:], x)
	if w.fill += stretchFrames; w.fill < bandlimit.WholeFrames {
		return top, 0
	}
	peak, sure = w.read(top)
	w.begin = (w.begin + wholeHop) % bandlimit.WholeFrames
	w.fill -= wholeHop
	return peak, sure
}

// read finds the peaks of the hop that pass all others. None counts as more than its bound: so it makes no
// difference which tiles were spared a transform because of what is elsewhere.
func (w *wholeBand) read(top float64) (peak, sure float64) {
	var reader *wholeReader
	left := w.marks[:0]
	for _, m := range w.marks {
		if m.tile >= wholeFirst+wholeTiles/2 {
			m.tile -= wholeTiles / 2
			left = append(left, m)
			continue
		}
		if m.bound <= top {
			continue
		}
		if reader == nil {
			w.reads++
			reader = wholeReaders.Get().(*wholeReader)
			reader.load(w)
		}
		height := m.highest(reader, top)
		top = max(top, min(m.bound, height))
		if height < wholeSure*m.bound {
			sure = max(sure, height)
		}
	}
	if reader != nil {
		wholeReaders.Put(reader)
	}
	w.marks = left
	return top, sure
}

// highest is the magnitude of the highest peak of the tile that passes a level, 0 if there is none. One right
// before the tile's end may be told of as the next tile's.
func (m *wholeMark) highest(reader *wholeReader, level float64) (peak float64) {
	var room [bandlimit.Tile]bandlimit.Top
	from, to := math.Inf(-1), float64(2*(m.tile*bandlimit.Tile+m.to))
	if m.from > 0 {
		from = float64(2 * (m.tile*bandlimit.Tile + m.from))
	}
	peaks := reader.Peaks(room[:0], m.tile, level, false)
	for _, p := range reader.Peaks(peaks, m.tile+1, level, false) {
		if p.At >= from && p.At < to {
			peak = max(peak, math.Abs(p.Height))
		}
	}
	return peak
}

// shift follows the channel to the next stretch.
func (w *wholeBand) shift() { copy(w.nears, w.nears[stretchCells:]) }

// forget says that the last cells are new.
func (w *wholeBand) forget(first int) {
	for k := range w.nears[first:] {
		w.nears[first+k] = -1
	}
}

func (w *wholeBand) clone() *wholeBand {
	c := *w
	c.x, c.nears = slices.Clone(w.x), slices.Clone(w.nears)
	c.marks = append(make([]wholeMark, 0, cap(w.marks)), w.marks...)
	return &c
}

// pushWhole has what the channels' stretches need read right up to half the rate.
func (m *Meter) pushWhole() {
	for i := range m.channels {
		if c := &m.channels[i]; c.whole != nil {
			m.peak.transformed(c.whole.push(c.x[m.history:], m.peak.top))
		}
	}
}

// endWhole has all stretches read that there is something to read in, with what comes after the signal, from
// a frame of that on.
func (m *Meter) endWhole(used int) {
	var rest [stretchFrames]float64
	for i := range m.channels {
		w := m.channels[i].whole
		for at := used; w != nil && len(w.marks) > 0; at += stretchFrames {
			n := 0
			if m.after != nil {
				n = copy(rest[:], m.after[i][min(at, len(m.after[i])):])
			}
			clear(rest[n:])
			m.peak.transformed(w.push(rest[:], m.peak.top))
		}
	}
}

// transformed takes the largest peak there is now, and the largest that is sure. A meter that follows may
// find that one lower by more than what points are.
func (t *truePeak) transformed(top, sure float64) {
	t.top = max(t.top, top)
	t.lead.point = max(t.lead.point, sure-float64(wholeWidths*t.lead.extra))
}

// wholeWidths times extra is how much less than a peak that was transformed a meter that follows finds at
// least: a transform's weights are three times as large in sum as those of the filter.
const wholeWidths = 4

// wholeSure times a bound is the height below which a peak is sure. Bounds are made of peaks with parabolas,
// which the least change of a signal may move from one point to the next.
const wholeSure = 0.99
