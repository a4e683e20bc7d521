package stages

// A worker does a stage's work on one channel and holds frames back.
type worker interface {
	// push takes the next frames and appends those that are finished to dst.
	push(dst, x []float64) []float64
	// flush appends the frames that are still held back.
	flush(dst []float64) []float64
	// took is the effect on the frames handed on.
	took() Effect
}

// workers are those of a stage's channels.
type workers []worker

// Effect is that on all channels.
func (all workers) Effect() (sum Effect) {
	for _, w := range all {
		sum.Add(w.took())
	}
	return sum
}

// EffectOn is the effect on one track, of workers that tell.
func (all workers) EffectOn(track int) (sum Effect) {
	for _, w := range all {
		if w, ok := w.(interface{ tookOn(int) Effect }); ok {
			sum.Add(w.tookOn(track))
		}
	}
	return sum
}

// perChannel is a stage that treats its channels alike and apart.
type perChannel struct {
	workers
	tamer
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
