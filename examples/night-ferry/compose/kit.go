package main

// kit is a player of struck things. Every blow is a little different, since
// the noise in it goes on from the one before. A strength is 0..1.
type kit struct{ random noise }

// kick is a drum whose pitch falls onto 46 Hz, with the beater's click on top.
func (k *kit) kick(strength float64) []float64 {
	take := make([]float64, frames(0.5))
	body, drop, click := falling(0.42), falling(0.09), falling(0.012)
	felt := newFilter(5500, 0.7)
	phase := 0.0
	for i := range take {
		phase += (46 + float64(strength*280*drop.next())) / rate
		tone := float64(body.next() * sine(phase))
		tap := float64(click.next() * felt.low(k.random.next()))
		take[i] = float64(strength * (soft(float64(1.4*tone)) + float64(0.9*tap)))
	}
	return take
}

// snare is two modes of a head and the rattle of the wires under it.
func (k *kit) snare(strength float64) []float64 {
	take := make([]float64, frames(0.4))
	head, wires, crack := falling(0.16), falling(0.27), falling(0.02)
	under, over := newFilter(900, 0.7), newFilter(9500, 0.7)
	for i := range take {
		t := float64(i) / rate
		modes := sine(float64(188*t)) + float64(0.6*sine(float64(331*t)))
		rattle := over.low(under.high(k.random.next()))
		x := float64(0.55 * head.next() * modes)
		x += float64((float64(0.6*wires.next()) + float64(0.9*crack.next())) * rattle)
		take[i] = float64(strength * x)
	}
	return take
}

// shut and open are a pair of cymbals on a stand: metal and air above 7 kHz.
func (k *kit) shut(strength float64) []float64 { return k.cymbals(strength, 0.07) }
func (k *kit) open(strength float64) []float64 { return k.cymbals(strength, 0.5) }

// crash is a large cymbal.
func (k *kit) crash(strength float64) []float64 { return k.cymbals(strength, 2.4) }

func (k *kit) cymbals(strength, seconds float64) []float64 {
	take := make([]float64, frames(seconds))
	fall, stick := falling(seconds), falling(0.01)
	above := newFilter(7000, 0.8)
	for i := range take {
		t := float64(i) / rate
		metal := 0.0
		for _, f := range [...]float64{3170, 4307, 5591, 6803, 8219} {
			metal += sine(float64(f*t) + float64(0.4*sine(float64(1.483*f*t))))
		}
		x := above.high(float64(0.2*metal) + float64(0.7*k.random.next()))
		take[i] = float64(strength * x * (fall.next() + float64(0.8*stick.next())))
	}
	return take
}

// tom is a deep drum of the given pitch in Hz, struck with a hard stick.
func (k *kit) tom(hz float64) strike {
	return func(strength float64) []float64 {
		take := make([]float64, frames(1.1))
		body, drop, stick := falling(1), falling(0.15), falling(0.008)
		phase := 0.0
		for i := range take {
			phase += float64(hz*(1+float64(0.7*drop.next()))) / rate
			tone := sine(phase) + float64(0.25*sine(float64(1.59*phase)))
			x := float64(body.next()*tone) + float64(0.7*stick.next()*k.random.next())
			take[i] = float64(strength * x)
		}
		return take
	}
}

// bells are cast, and struck with one strength: their partials are not
// harmonic, and the high ones are soon gone. They ring however long they are held.
func (k *kit) bells(strength float64) voice {
	return func(hz, _ float64) []float64 {
		take := make([]float64, frames(2.6))
		for n, ratio := range [...]float64{0.5, 1, 1.19, 1.5, 2, 2.67, 3.76, 5.21} {
			ring := falling(3.2 / (0.6 + ratio))
			level := 0.5 / (1 + float64(0.45*float64(n)))
			for i := range take {
				turns := ratio * hz * float64(i) / rate
				take[i] += float64(strength * level * ring.next() * sine(turns))
			}
		}
		clapper := falling(0.006)
		for i := range frames(0.02) {
			take[i] += float64(0.5 * strength * clapper.next() * k.random.next())
		}
		return take
	}
}

// surf is water against a wall: it swells until its middle and draws back.
func (k *kit) surf(seconds float64) []float64 {
	take := make([]float64, frames(seconds))
	water := newFilter(400, 0.6)
	for i := range take {
		swell := sine(float64(i) / float64(2*len(take)))
		if i%32 == 0 {
			water.tune(250 + float64(1600*swell))
		}
		take[i] = float64(swell * swell * water.low(k.random.next()))
	}
	return take
}
