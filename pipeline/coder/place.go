package coder

import (
	"math"

	"ledgerline/stages"
	"ledgerline/stages/portable"
)

// A place finds where a signal is highest between its samples. How high that is the meter says: it looks
// everywhere and closely, and tells no place.
type place struct {
	least   float64 // magnitude: no sample below it has the highest peak beside it
	kernels [placesBetween][2 * placeReach]float64

	x    [][]float64 // of each channel the frames that wait for those after them
	from int64       // the frame of the first of them

	best    float64
	frame   float64
	channel int
}

const (
	placeReach    = 16 // samples to each side of a value
	placesBetween = 4  // values from one sample to the next, the first of them the sample
	placeLeast    = 0.6
)

// newPlace seeks a true peak of that magnitude.
func newPlace(channels int, truePeak float64) *place {
	p := &place{least: placeLeast * truePeak, x: make([][]float64, channels), from: -placeReach, channel: -1}
	for c := range p.x {
		p.x[c] = make([]float64, placeReach)
	}
	for k := range p.kernels {
		at := float64(float64(k) / placesBetween)
		for i := range p.kernels[k] {
			d := float64(i-placeReach+1) - at
			p.kernels[k][i] = sinc(d) * hann(d/placeReach)
		}
	}
	return p
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return portable.SinPi(x) / (math.Pi * x)
}

// hann is a window from -1 to 1.
func hann(x float64) float64 { return 0.5 + float64(0.5*portable.CosPi(x)) }

// look looks at the next frames.
func (p *place) look(b stages.Block) {
	for c := range b {
		p.x[c] = append(p.x[c], b[c]...)
	}
	n := len(p.x[0])
	for c, x := range p.x {
		for i := placeReach; i+placeReach < n; i++ {
			if math.Abs(x[i]) >= p.least || math.Abs(x[i+1]) >= p.least {
				p.between(c, i)
			}
		}
	}
	done := max(0, n-2*placeReach)
	for c, x := range p.x {
		p.x[c] = append(x[:0], x[done:]...)
	}
	p.from += int64(done)
}

// between looks from one frame to the next.
func (p *place) between(c, i int) {
	x := p.x[c][i-placeReach+1 : i+placeReach+1]
	for k := range p.kernels {
		sum := 0.0
		for j, w := range p.kernels[k] {
			sum += float64(w * x[j])
		}
		if a := math.Abs(sum); a > p.best {
			p.best, p.frame, p.channel = a, float64(p.from+int64(i))+float64(float64(k)/placesBetween), c
		}
	}
}

// end looks at the last frames: silence comes after them.
func (p *place) end() {
	p.look(stages.NewBlock(len(p.x), 2*placeReach))
}
