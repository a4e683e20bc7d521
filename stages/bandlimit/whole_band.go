package bandlimit

import (
	"sync"

	"ledgerline/stages/fourier"
	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

// A WholeBand reads a stretch of a channel between its samples right up to half the rate, where short filters
// do not reach: by the Fourier transform of the stretch, faded at its ends, or by long filters where nothing
// is close to half the rate. Beside the stretch itself it knows what is left of it by a low-pass filter, such
// as a converter of rates has. It serves one goroutine at a time.
type WholeBand struct {
	narrow, wide *fourier.Real
	faded        []float64
	re, im       []float64 // the bins of the stretch; as those of twice as many values they go on with zeros
	whole, low   Rate
	fourfold     Fourfold
	frames, half [tileFrames + kernel.Group]float64
	twice        [2 * tileFrames]float64

	x      []float64 // the stretch that has been opened
	read   wholeParts
	hasLow bool // what the low-pass filter leaves of it has been found
}

const (
	// WholeFrames is how many frames a stretch has, and wholeFade how many of them are faded at either end.
	WholeFrames = 16384
	wholeFade   = 1024
)

var (
	narrowPlan = sync.OnceValue(func() *fourier.Real { return fourier.NewReal(WholeFrames) })
	widePlan   = sync.OnceValue(func() *fourier.Real { return fourier.NewReal(2 * WholeFrames) })
)

// A Shaping multiplies the bins of a stretch, 0 to WholeFrames/2.
type Shaping [WholeFrames/2 + 1]float64

var (
	// lowShaping is flat up to 20.1/44.1 of the rate and has fallen to nothing by half the rate: a converter of
	// rates of the sharpest usual kind passes as much.
	lowShaping = sync.OnceValue(func() *Shaping { return newShaping(20.1/44.1, 0.5, 1, 0) })
	// NearHalf is what lies above 21.5/44.1 of the rate. So near half the rate a tone and its image beat, too
	// slowly for any stretch to tell how high the signal is between its samples; meters differ by whole
	// decibels.
	NearHalf = sync.OnceValue(func() *Shaping { return newShaping(21.3/44.1, 21.7/44.1, 0, 1) })
	// High is what pulses hardly reach, from 20.6/44.1 of the rate up.
	High = sync.OnceValue(func() *Shaping { return newShaping(20.2/44.1, 20.6/44.1, 0, 1) })
	fade = sync.OnceValue(func() []float64 {
		g := make([]float64, wholeFade)
		for i := range g {
			g[i] = Rise((float64(i) + 0.5) / wholeFade)
		}
		return g
	})
)

// HighBend times the largest second difference around, within 256 frames, and HighRest times the largest
// magnitude bound what High leaves: what is so near half the rate has second differences of nearly four times
// its height. See ByParts.
const HighBend, HighRest = 0.5, 0.01

// newShaping goes from one gain at a share of the rate to another, by a raised cosine.
func newShaping(from, to, before, after float64) *Shaping {
	s := new(Shaping)
	for k := range s {
		s[k] = before + float64((after-before)*Rise((float64(float64(k)/WholeFrames)-from)/(to-from)))
	}
	return s
}

// Rise is half a period of a raised cosine: 0 up to t = 0, and 1 from t = 1 on.
func Rise(t float64) float64 {
	return 0.5 - float64(0.5*portable.CosPi(min(max(t, 0), 1)))
}

// NewWholeBand makes one that has read nothing.
func NewWholeBand() *WholeBand {
	w := &WholeBand{
		faded: make([]float64, WholeFrames),
		re:    make([]float64, WholeFrames+1), im: make([]float64, WholeFrames+1),
	}
	for _, r := range []*Rate{&w.whole, &w.low} {
		r.values, r.summits = make([]float64, 2*WholeFrames), summits()
	}
	return w
}

// Load reads a stretch of WholeFrames frames.
func (w *WholeBand) Load(x []float64) {
	w.bins(x)
	// What is not touched stays as it is, to the last bit.
	w.wide.InverseOdd(w.whole.values, x, w.re, w.im, 2.0/WholeFrames)
}

// bins sets the bins of a stretch so that they go on with zeros as those of twice as many values.
func (w *WholeBand) bins(x []float64) {
	w.transform(x)
	w.re[WholeFrames/2] *= 0.5 // half the rate is as much +half as -half
}

// LoadLow finds what the low-pass filter leaves of what has just been loaded.
func (w *WholeBand) LoadLow() {
	w.shape(lowShaping())
	w.wide.InverseScaled(w.low.values, w.re, w.im, 2.0/WholeFrames)
}

// Shaped sets y to the frames that a shaping leaves of x.
func (w *WholeBand) Shaped(y, x []float64, s *Shaping) {
	w.transform(x)
	w.shape(s)
	w.narrow.InverseScaled(y, w.re, w.im, 2.0/WholeFrames)
}

func (w *WholeBand) transform(x []float64) {
	if w.narrow == nil { // most tracks need no transform
		w.narrow, w.wide = narrowPlan().Clone(), widePlan().Clone()
	}
	copy(w.faded, x)
	for i, g := range fade() {
		w.faded[i] *= g
		w.faded[WholeFrames-1-i] *= g
	}
	w.narrow.Forward(w.re, w.im, w.faded)
}

func (w *WholeBand) shape(s *Shaping) {
	for k, g := range s {
		w.re[k] *= g
		w.im[k] *= g
	}
}

// Value is the signal at a place; of what the low-pass filter leaves if low is set.
func (w *WholeBand) Value(place float64, low bool) float64 {
	return w.reading(low).Value(place)
}

// reading is the signal at twice the rate, or what the low-pass filter leaves of it.
func (w *WholeBand) reading(low bool) *Rate {
	if low {
		return &w.low
	}
	return &w.whole
}

// Peaks appends the peaks in a tile of the stretch that pass the aim, in their order; of what the low-pass
// filter leaves if low is set. A tile is counted from the stretch's first frame, and is not at its ends.
func (w *WholeBand) Peaks(dst []Top, tile int, aim float64, low bool) []Top {
	w.eachPeak(tile, aim, low, func(float64) float64 { return aim }, func(_ *Hills, top Top, _ int, _ float64) {
		dst = append(dst, top)
	})
	return dst
}

// eachPeak calls f with those peaks, see Hills.Each.
func (w *WholeBand) eachPeak(tile int, aim float64, low bool, level func(at float64) float64,
	f func(hills *Hills, top Top, hill int, level float64)) {
	const most = 1.7 // a peak may be so many times as high as the values at twice the rate
	r := w.reading(low)
	if most*kernel.MaxAbs(r.values[2*Tile*tile-2:2*Tile*(tile+1)+2]) < aim {
		return
	}
	w.fourfold.EachHill(r, tile, aim, func(hills *Hills) {
		hills.Each(aim, level, func(top Top, hill int, level float64) { f(hills, top, hill, level) })
	})
}
