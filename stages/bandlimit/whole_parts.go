package bandlimit

import (
	"math"
	"slices"

	"ledgerline/stages/kernel"
)

// A stretch that has been opened is read part by part, and only where it is looked at, by the filter of
// ReadTile. Once nothing is left near half the rate, that is as right as a transform.

// wholeParts are the parts of a stretch, a kernel.Group of frames each, that have been read.
type wholeParts [WholeFrames / kernel.Group]bool

// Open begins to read a stretch part by part, for FilledPeaks, FilledValue and Take. x is kept, and what Take
// takes off is taken off x itself.
func (w *WholeBand) Open(x []float64) {
	w.x = x
	clear(w.read[:])
	w.hasLow = false
}

// OpenWhole is Open where a stretch may have something near half the rate: the transform reads all of it.
func (w *WholeBand) OpenWhole(x []float64) {
	w.Open(x)
	w.Load(x)
	w.LoadLow()
	w.hasLow = true
	for g := range w.read {
		w.read[g] = true
	}
}

// fill reads what has not been read of the parts from one to another.
func (w *WholeBand) fill(from, to int) {
	for ; from <= to; from++ {
		if w.read[from] {
			continue
		}
		end := from
		for ; end <= to && !w.read[end]; end++ {
			w.read[end] = true
		}
		at, n := kernel.Group*from, kernel.Group*(end-from)
		half := w.half[:n]
		wholeHalf().Apply(half, w.x[at+1-wholeTaps/2:])
		kernel.Zip(w.whole.values[2*at:], w.x[at:at+n], half)
		from = end
	}
}

// fillLow finds what the low-pass filter leaves: by the transform, all of it at once. By the filters of
// ReadTileLow, 6984 Hz 4 dB over keeps 94 dB instead of 100.
func (w *WholeBand) fillLow() {
	if w.hasLow {
		return
	}
	w.hasLow = true
	w.bins(w.x)
	w.LoadLow()
}

// fillFor reads the parts from one to another; of what the low-pass filter leaves if low is set.
func (w *WholeBand) fillFor(low bool, from, to int) {
	if low {
		w.fillLow()
	} else {
		w.fill(from, to)
	}
}

const tileGroups = Tile / kernel.Group

// A Found is a peak that is to come down to a level.
type Found struct {
	Top
	Level float64
}

// FilledPeaks appends the peaks in a tile of a stretch that has been opened that pass their level, each at
// the middle of what passes half its excess, in their order but for what is hidden. A level is no less than
// the aim.
func (w *WholeBand) FilledPeaks(dst []Found, tile int, aim float64, low bool,
	level func(at float64) float64) []Found {
	w.fillFor(low, tileGroups*tile-1, tileGroups*(tile+1))
	// A peak passes the higher one of two values by less than a quarter of the largest second difference.
	const cells = 2*Tile/kernel.Cell + 1
	var peaks, bends [cells]float64
	kernel.Scan(w.reading(low).values[2*Tile*tile-4:], peaks[:], bends[:])
	if slices.Max(peaks[:])+float64(slices.Max(bends[:])/4) < aim {
		return dst
	}
	w.eachPeak(tile, aim, low, level, func(hills *Hills, top Top, hill int, level float64) {
		if !(math.Abs(top.Height) > level) {
			return
		}
		top = hills.Middle(top, hill, level)
		if n := len(dst); n == 0 || top.At-dst[n-1].At >= OnePeak {
			dst = append(dst, Found{top, level})
		}
	})
	return dst
}

// FilledValue is Value of a stretch that has been opened.
func (w *WholeBand) FilledValue(place float64, low bool) float64 {
	const n = pulseRate * kernel.Group
	w.fillFor(low, (int(place)-summitReach)/n, (int(place)+summitReach)/n)
	return w.Value(place, low)
}

// Take takes pulses off a stretch that has been opened. Pulses reach far enough down for what the low-pass
// filter leaves of them to be no different.
func (w *WholeBand) Take(pulses []Pulse) {
	for _, p := range pulses {
		frame := int(p.At) / pulseRate
		from, to := frame-pulseSide, frame+pulseSide
		w.fill(from/kernel.Group, to/kernel.Group)
		w.whole.subtract(p)
		if w.hasLow {
			w.low.subtract(p)
		}
		kernel.Evens(w.x[from:to+1], w.whole.values[2*from:])
	}
}
