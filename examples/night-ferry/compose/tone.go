package main

// keys is a note of an electric piano: one sine bends the phase of another,
// less and less, and a tine rings at the start.
func keys(f, seconds float64) []float64 {
	take := make([]float64, frames(seconds+0.12))
	body, bend, tine := falling(3.5), falling(1.6), falling(0.3)
	for i := range take {
		turns := f * float64(i) / rate
		x := float64(body.next() * sine(turns+float64(0.28*bend.next()*sine(turns))))
		take[i] = x + float64(0.12*tine.next()*sine(float64(7*turns)))
	}
	ramp(take, 0.002, 0.12)
	return take
}

// bass is a saw over a sine, through a closing filter, driven a little.
func bass(f, seconds float64) []float64 {
	take := make([]float64, frames(seconds))
	wave, closing := saw{step: f / rate}, falling(0.5)
	muffle := newFilter(400, 1.1)
	for i := range take {
		if i%32 == 0 {
			muffle.tune(220 + float64(1500*closing.level))
		}
		closing.next()
		x := float64(0.55*wave.next()) + float64(0.6*sine(float64(f*float64(i))/rate))
		take[i] = soft(float64(1.5 * muffle.low(x)))
	}
	ramp(take, 0.003, 0.03)
	return take
}

// ensemble plays notes of four saws, a few cents apart, under a low-pass filter.
type ensemble struct {
	corner         float64 // of the filter, Hz
	rise, fall     float64 // seconds
	detune, offset float64 // between the saws, and of them all: parts of the frequency
}

func (s ensemble) note(f, seconds float64) []float64 {
	take := make([]float64, frames(seconds))
	muffle := newFilter(s.corner, 0.8)
	var saws [4]saw
	for n := range saws {
		spread := 1 + s.offset + float64(s.detune*(float64(n)-1.5))
		saws[n] = saw{step: f * spread / rate, phase: 0.31 * float64(n)}
	}
	for i := range take {
		x := 0.0
		for n := range saws {
			x += saws[n].next()
		}
		take[i] = muffle.low(x / 4)
	}
	ramp(take, s.rise, s.fall)
	return take
}

// saw is an oscillator that rises from -1 to 1 and falls at once, the fall
// rounded over two samples so that it aliases little.
type saw struct{ phase, step float64 }

func (s *saw) next() float64 {
	s.phase += s.step
	if s.phase >= 1 {
		s.phase--
	}
	x := s.phase + s.phase - 1
	if t := s.phase / s.step; t < 1 {
		x += float64((1 - t) * (1 - t))
	} else if t := (1 - s.phase) / s.step; t < 1 {
		x -= float64((1 - t) * (1 - t))
	}
	return x
}

// ramp fades the first and the last seconds of a take in and out, the way a
// raised cosine does.
func ramp(take []float64, in, out float64) {
	shape := func(n, i int) float64 {
		s := sine(float64(i) / float64(4*n))
		return float64(s * s)
	}
	for i, n := 0, min(frames(in), len(take)); i < n; i++ {
		take[i] = float64(take[i] * shape(n, i))
	}
	for i, n := 0, min(frames(out), len(take)); i < n; i++ {
		take[len(take)-1-i] = float64(take[len(take)-1-i] * shape(n, i))
	}
}
