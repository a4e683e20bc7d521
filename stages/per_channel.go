package stages

import "ledgerline/stages/kernel"

// A worker does a stage's work on one channel and holds frames back.
type worker interface {
	// push takes the next frames and appends those that are finished to dst.
	push(dst, x []float64) []float64
	// flush appends the frames that are still held back.
	flush(dst []float64) []float64
	// took is the effect on the frames handed on.
	took() Effect
}

// perChannel is a stage that treats its channels alike and apart.
type perChannel struct {
	workers []worker
	tame    []float64 // scratch
}

func newPerChannel(channels int, make func() worker) *perChannel {
	p := &perChannel{}
	for range channels {
		p.workers = append(p.workers, make())
	}
	return p
}

func (p *perChannel) Process(dst, in Block) Block {
	for c, w := range p.workers {
		dst[c] = w.push(dst[c], p.tamed(in[c]))
	}
	return dst
}

func (p *perChannel) Flush(dst Block) Block {
	for c, w := range p.workers {
		dst[c] = w.flush(dst[c])
	}
	return dst
}

func (p *perChannel) Effect() (sum Effect) {
	for _, w := range p.workers {
		sum.Add(w.took())
	}
	return sum
}

// EffectOn is the effect on one track, of workers that tell.
func (p *perChannel) EffectOn(track int) (sum Effect) {
	for _, w := range p.workers {
		if w, ok := w.(interface{ tookOn(int) Effect }); ok {
			sum.Add(w.tookOn(track))
		}
	}
	return sum
}

// wild is a magnitude, +120 dBFS, that no programme has. Filters would spread a
// sample that is not a number, and lose the others beside one far beyond this.
const wild = 1e6

// tamed is x with such samples as 0, or as the limit.
func (p *perChannel) tamed(x []float64) []float64 {
	if kernel.Within(x, wild) == len(x) {
		return x
	}
	p.tame = append(p.tame[:0], x...)
	for i, v := range p.tame {
		if v != v {
			p.tame[i] = 0
		} else {
			p.tame[i] = min(max(v, -wild), wild)
		}
	}
	return p.tame
}
