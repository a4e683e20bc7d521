package bandlimit

import (
	"math/bits"

	"ledgerline/stages/fourier"
	"ledgerline/stages/kernel"
	"ledgerline/stages/portable"
)

// A WholeBand reads a stretch of a channel between its samples right up to half the rate, where short filters do not reach:
// by the Fourier transform of the stretch, faded at its ends.
type WholeBand struct {
	narrow, wide *fourier.Real
	fade         []float64
	faded        []float64
	re, im       []float64
	twice        Rate
	fourfold     Fourfold
}

const (
	// WholeFrames is how many frames a stretch has, and WholeFade how many of them are faded at either end.
	WholeFrames = 16384
	WholeFade   = 1024
)

// NewWholeBand makes one. It serves one goroutine at a time.
func NewWholeBand() *WholeBand {
	w := &WholeBand{
		narrow: fourier.NewReal(WholeFrames), wide: fourier.NewReal(2 * WholeFrames),
		fade: make([]float64, WholeFade), faded: make([]float64, WholeFrames),
		re: make([]float64, WholeFrames+1), im: make([]float64, WholeFrames+1),
	}
	for i := range w.fade {
		w.fade[i] = 0.5 - float64(0.5*portable.CosPi((float64(i)+0.5)/WholeFade))
	}
	w.twice.values, w.twice.summits = make([]float64, 2*WholeFrames+2*Tile), summits()
	return w
}

// Load reads a stretch. lowPass multiplies bin k; nil: whole band.
func (w *WholeBand) Load(x []float64, lowPass []float64) {
	copy(w.faded, x)
	for i, g := range w.fade {
		w.faded[i] *= g
		w.faded[WholeFrames-1-i] *= g
	}
	const half = WholeFrames / 2
	w.narrow.Forward(w.re, w.im, w.faded)
	clear(w.re[half+1:])
	clear(w.im[half+1:])
	w.re[half] *= 0.5
	w.im[half] = 0
	if lowPass != nil {
		for k, g := range lowPass {
			w.re[k] *= g
			w.im[k] *= g
		}
	}
	w.wide.Inverse(w.twice.values[:2*WholeFrames], w.re, w.im)
	for i := range w.twice.values {
		w.twice.values[i] *= 1.0 / half
	}
	if lowPass == nil {
		for i, v := range x {
			w.twice.values[2*i] = v
		}
	}
}

// Store sets x to the frames.
func (w *WholeBand) Store(x []float64) { kernel.Evens(x, w.twice.values[:2*len(x)]) }

// Tops appends the peaks in a tile that may pass the aim.
func (w *WholeBand) Tops(dst []Top, t int, aim, give float64) []Top {
	if 1.7*kernel.MaxAbs(w.twice.values[2*Tile*t-2:2*Tile*(t+1)+2]) < aim {
		return dst
	}
	u, at := w.fourfold.Fill(&w.twice, t)
	var mask [4 * Tile / 64]uint64
	kernel.Peaks(u, at-1, 4*Tile, aim, give, mask[:])
	for word, set := range mask {
		for ; set != 0; set &= set - 1 {
			i := 64*word + bits.TrailingZeros64(set) - 1
			top := w.twice.Summit(float64(2*Tile*t)+0.5*float64(i), 0.5, (*[3]float64)(u[at+i-1:]))
			dst = append(dst, top)
		}
	}
	return dst
}

// Subtract takes a pulse off.
func (w *WholeBand) Subtract(p Pulse) { w.twice.subtract(p) }
func (w *WholeBand) Vals() []float64 { return w.twice.values }
