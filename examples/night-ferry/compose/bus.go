package main

import "ledgerline/stages"

// bus is a stereo stretch of sound that takes are laid into.
type bus stages.Block

func newBus(seconds float64) bus { return bus(stages.NewBlock(2, frames(seconds))) }

// seat is where a take is heard: from -1, left, to 1, right, and how loud.
type seat struct{ pan, db float64 }

// add lays a take into the bus, so many seconds from its start, at constant
// power over the panorama. What passes the end is lost.
func (b bus) add(at float64, take []float64, s seat) {
	from := frames(at)
	turns := float64((1 + s.pan) / 8)
	for c, side := range [...]float64{sine(turns + 0.25), sine(turns)} {
		gain := float64(linear(s.db) * side)
		to := b[c][min(from, len(b[c])):]
		for i := range min(len(take), len(to)) {
			to[i] += float64(gain * take[i])
		}
	}
}

// mix adds another bus at a level in dB.
func (b bus) mix(other bus, db float64) {
	gain := linear(db)
	for c := range b {
		for i, x := range other[c] {
			b[c][i] += float64(gain * x)
		}
	}
}

// drive raises the bus by a level in dB and bends what goes too far.
func (b bus) drive(db float64) {
	gain := linear(db)
	for c := range b {
		for i, x := range b[c] {
			b[c][i] = soft(float64(gain * x))
		}
	}
}

// finish removes what nobody hears, below 20 Hz and above 20 kHz, fades the
// last seconds out and brings the largest sample to a level in dBFS.
func (b bus) finish(fade, peak float64) {
	largest := 0.0
	for c := range b {
		rumble := newFilter(20, 0.7)
		for i, x := range b[c] {
			b[c][i] = rumble.high(x)
		}
		bandLimit(b[c])
		ramp(b[c], 0, fade)
		for _, x := range b[c] {
			largest = max(largest, x, -x)
		}
	}
	gain := linear(peak) / largest
	for c := range b {
		for i, x := range b[c] {
			b[c][i] = float64(gain * x)
		}
	}
}
