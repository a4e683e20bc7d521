package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerline/stages/stagetest/long"
)

// pulse is the pulse at a time from its peak, in frames, as it is defined. Which
// values of its last half frame it still takes, where it is below four millionths, is left open.
func pulse(at float64) float64 { return sinc(at*39/44.1) * kaiser(at/36, 10.6) }

func open(at float64) bool { return math.Abs(at) >= 35.5 }

// A pulse may be at any fraction between two values: what goes is a pulse
// there, from the samples and from the values between them alike, and also from those that are filled in
// again.
func TestSubtractTakesAPulse(t *testing.T) {
	const n, level = 512, 0.7
	side := float64(len(Steep[1].halfBand)) / 2
	random := rand.New(rand.NewPCG(8, 1))
	off, end := 0.0, 0.0
	for i := range long.Or(60, 200) {
		top, before := holding(Steep, 4, noise(9, n)), holding(Steep, 4, noise(9, n))
		tiles(n, top.Fill)
		tiles(n, before.Fill)
		m, fraction := (Reach+200)*2+random.IntN(50), random.Float64()
		if i < 8 {
			fraction = float64(i%2) * (1 - 1e-12*float64(i/2))
		}
		first, last, _ := top.ip.Subtract([]Pulse{{float64(m) + fraction, level}})
		tiles(n, top.Fill)
		for _, factor := range []int{1, 2, 4} {
			was, is := before.ip.At(factor).Values(), top.ip.At(factor).Values()
			for k := Reach * factor; k < (Reach+n)*factor; k++ {
				taken := was[k] - is[k]
				if tile := k / (Tile * factor); taken != 0 && (tile < first || tile > last) {
					t.Fatalf("tile %d was touched, but is not one of %d to %d", tile, first, last)
				}
				at := float64(k)/float64(factor) - (float64(m)+fraction)/2
				// What is filled in from values at either side of the end has its share of it.
				if d := math.Abs(taken - level*pulse(at)); open(at) || factor > 2 && open(math.Abs(at)+side) {
					end = max(end, d)
				} else {
					off = max(off, d)
				}
			}
		}
	}
	t.Logf("%.1f dB from a pulse of height 1, %.1f dB at its ends", dB(off/level), dB(end/level))
	if dB(off/level) > -135 || end/level > 4e-6 {
		t.Errorf("off by %.1f dB, %.1f dB at the ends", dB(off/level), dB(end/level))
	}
}

// Nothing of a pulse beside its main lobe rises above its skirt, and its shape is what it is.
func TestPulseShape(t *testing.T) {
	shape, highest, off := PulseShape(), 0.0, 0.0
	for i := range 100_000 {
		at := pulseSide * float64(i) / 100_000
		p := math.Abs(pulse(at))
		if at > 1/pulseBand {
			highest = max(highest, p/Skirt(at))
		}
		if at*pulseRate < Near {
			off = max(off, math.Abs(shape.At(at*pulseRate)-pulse(at)))
		}
	}
	t.Logf("a pulse comes up to %.4f of its skirt, its shape is off by %.1e", highest, off)
	if highest > 1 || highest < 0.98 || off > 1e-7 {
		t.Errorf("up to %v of the skirt, the shape off by %v", highest, off)
	}
}

// At a frame the pulse goes from the samples only, and the values between them
// are filled in again when asked for.
func TestSubtractAtTakesAPulse(t *testing.T) {
	const n, level = 512, -0.3
	for frame := Reach + 200; frame < Reach+240; frame++ {
		x := noise(9, n)
		r := holding(Steep, 4, x)
		tiles(n, r.Fill)
		r.ip.SubtractAt(frame, level)
		for i := range x {
			at := float64(Reach + i - frame)
			want := x[i] - level*pulse(at)
			if got := r.ip.Signal()[Reach+i]; !open(at) && math.Abs(got-want) > 1e-12 {
				t.Fatalf("frame %d less a pulse at %d: %v, want %v", i, frame, got, want)
			}
			x[i] = r.ip.Signal()[Reach+i]
		}
		wantFilledAgain(t, r, holding(Steep, 4, x), n, -100)
	}
}

// wantFilledAgain compares all values and peaks with those of the samples as they are now.
func wantFilledAgain(t *testing.T, r, want *Rate, n int, limit float64) {
	t.Helper()
	tiles(n, r.Fill)
	tiles(n, want.Fill)
	for l, r := range r.ip.rates {
		want := want.ip.rates[l]
		off := 0.0
		for k := Reach * r.Factor(); k < (Reach+n)*r.Factor(); k++ {
			off = max(off, math.Abs(r.Values()[k]-want.Values()[k]))
		}
		if dB(off) > limit {
			t.Errorf("factor %d: the values are off by %.1f dB", r.Factor(), dB(off))
		}
		tiles(n, func(tile int) {
			if got, want := r.Peak(tile), want.Peak(tile); math.Abs(got-want) > 1e-5 {
				t.Errorf("factor %d, tile %d: peak %v, want %v", r.Factor(), tile, got, want)
			}
		})
	}
}

// Pulses anywhere, also over each other, over tiles that were not filled in yet
// and over the ends of the track: the track keeps its length, and the values
// between the samples stay those of the samples, but for what the pulse has beyond the band.
func TestSubtractAnywhere(t *testing.T) {
	const n = 700
	random := rand.New(rand.NewPCG(8, 2))
	for range 60 {
		r := holding(Steep, 4, noise(random.Uint64(), n))
		levels := 0.0
		for range 30 {
			tile := Reach/Tile + random.IntN((n+Tile-1)/Tile)
			r.Fill(tile)
			level := 0.2 * random.NormFloat64()
			levels += math.Abs(level)
			frame := tile*Tile + random.IntN(Tile)
			if random.IntN(2) == 0 {
				r.ip.Subtract([]Pulse{{float64(frame)*2 + 2*random.Float64(), level}})
			} else {
				r.ip.SubtractAt(frame, level)
			}
		}
		for i, v := range r.ip.Signal() {
			if v != 0 && (i < Reach || i >= Reach+n) {
				t.Fatalf("frame %d of %d is %v", i-Reach, n, v)
			}
		}
		wantFilledAgain(t, r, holding(Steep, 4, r.ip.Signal()[Reach:Reach+n]), n, -98+dB(levels))
	}
}

// What is removed from a tile is gone from the track, and from nothing beyond its
// ends, and every value that depends on it is another.
func TestRemove(t *testing.T) {
	const n = 700
	for tile := Reach/Tile - 1; tile <= (Reach+n)/Tile+1; tile++ {
		x, removed := noise(uint64(tile), n), noise(99, Tile)
		r := holding(Steep, 4, x)
		tiles(n, r.Fill)
		tiles(n, func(tile int) { r.Peak(tile) })
		r.ip.Remove(tile, removed)
		for i, v := range removed {
			if k := tile*Tile + i - Reach; k >= 0 && k < n {
				x[k] -= v
			}
		}
		want := holding(Steep, 4, x)
		tiles(n, func(tile int) {
			r.Fill(tile)
			want.Fill(tile)
			if r.Peak(tile) != want.Peak(tile) {
				t.Errorf("tile %d: peak %v, want %v", tile, r.Peak(tile), want.Peak(tile))
			}
		})
		for l, got := range r.ip.rates {
			factor := got.Factor()
			inTrack := func(r *Rate) []float64 { return r.Values()[Reach*factor : (Reach+n)*factor] }
			if i := firstDifference(inTrack(got), inTrack(want.ip.rates[l])); i >= 0 {
				t.Errorf("removed from tile %d: value %d/%d differs", tile, i, factor)
			}
		}
		if i := firstDifference(r.ip.Signal(), want.ip.Signal()); i >= 0 {
			t.Errorf("removed from tile %d: frame %d is %v, want %v", tile, i-Reach, r.ip.Signal()[i],
				want.ip.Signal()[i])
		}
	}
}

// After pulses as before, no value passes where the interpolator says that none may.
func TestMayPassIsSafeAfterPulses(t *testing.T) {
	long.Only(t, "TestMayPassIsSafe has what is safe, TestSubtractAnywhere pulses")
	const n = 700
	random := rand.New(rand.NewPCG(8, 3))
	passed := 0
	for seed := range uint64(long.Or(15, 40)) {
		top := holding(Steep, 4, bursts(seed, n))
		for range 40 {
			tile := Reach/Tile + random.IntN((n+Tile-1)/Tile)
			ceiling := math.Pow(10, -random.Float64())
			if !top.MayPass(tile, ceiling) {
				continue
			}
			passed++
			top.ip.Subtract([]Pulse{{float64(tile*Tile*2) + 2*Tile*random.Float64(), ceiling * random.NormFloat64()}})
			all := holding(Steep, 4, top.ip.Signal()[Reach:Reach+n])
			tiles(n, all.Fill)
			for l, r := range top.ip.rates[1:] {
				tiles(n, func(tile int) {
					if p := all.ip.rates[1+l].Peak(tile); p > ceiling+1e-4 && !r.MayPass(tile, ceiling) {
						t.Fatalf("signal %d, tile %d, factor %d: %v passes %v", seed, tile, r.Factor(), p, ceiling)
					}
				})
			}
		}
	}
	if passed < long.Or(75, 200) {
		t.Errorf("%d pulses: too few to tell", passed)
	}
}
