package bandlimit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// pulse is the pulse at a time from its peak, in frames, as it is defined. Which
// values of its last frame it still takes, where it is below four millionths, is left open.
func pulse(at float64) float64 { return sinc(at*39/44.1) * kaiser(at/36, 10.6) }

func open(at float64) bool { return math.Abs(at) > 35 }

// A pulse may stand at any fraction between two values: what goes is a pulse
// there, from the samples and from the values between them alike.
func TestSubtractTakesAPulse(t *testing.T) {
	const n, level = 512, 0.7
	random := rand.New(rand.NewPCG(8, 1))
	off, end := 0.0, 0.0
	for i := range 200 {
		ip := holding(4, noise(9, n))
		before := holding(4, noise(9, n))
		tiles(n, ip.Fill)
		tiles(n, before.Fill)
		m, fraction := (Reach+200)*4+random.IntN(100), random.Float64()
		if i < 8 {
			fraction = float64(i%2) * (1 - 1e-12*float64(i/2))
		}
		first, last := ip.Subtract(m, fraction, level)
		tiles(n, func(tile int) {
			for k := tile * Tile * 4; k < (tile+1)*Tile*4; k++ {
				taken := before.At(k) - ip.At(k)
				if taken != 0 && (tile < first || tile > last) {
					t.Fatalf("tile %d was touched, but is not one of %d to %d", tile, first, last)
				}
				at := (float64(k-m) - fraction) / 4
				if d := math.Abs(taken - level*pulse(at)); open(at) {
					end = max(end, d)
				} else {
					off = max(off, d)
				}
			}
		})
	}
	t.Logf("%.1f dB from a pulse of height 1, %.1f dB at its ends", dB(off/level), dB(end/level))
	if dB(off/level) > -135 || dB(end/level) > -110 {
		t.Errorf("off by %.1f dB, %.1f dB at the ends", dB(off/level), dB(end/level))
	}
}

// At a frame the pulse goes from the samples only, and the values between them
// are filled in again when asked for.
func TestSubtractAtTakesAPulse(t *testing.T) {
	const n, level = 512, -0.3
	for frame := Reach + 200; frame < Reach+240; frame++ {
		x := noise(9, n)
		ip := holding(4, x)
		tiles(n, ip.Fill)
		ip.SubtractAt(frame, level)
		for i := range x {
			at := float64(Reach + i - frame)
			want := x[i] - level*pulse(at)
			if got := ip.Signal()[Reach+i]; !open(at) && math.Abs(got-want) > 1e-12 {
				t.Fatalf("frame %d less a pulse at %d: %v, want %v", i, frame, got, want)
			}
			x[i] = ip.Signal()[Reach+i]
		}
		wantFilledAgain(t, ip, holding(4, x), n, -100)
	}
}

// wantFilledAgain compares all values and peaks with those of the samples as they are now.
func wantFilledAgain(t *testing.T, ip, want *Interpolator, n int, limit float64) {
	t.Helper()
	off := 0.0
	tiles(n, func(tile int) {
		ip.Fill(tile)
		want.Fill(tile)
		for k := tile * Tile * 4; k < (tile+1)*Tile*4; k++ {
			off = max(off, math.Abs(ip.At(k)-want.At(k)))
		}
		if got, want := ip.Peak(tile), want.Peak(tile); math.Abs(got-want) > 1e-5 {
			t.Errorf("tile %d: peak %v, want %v", tile, got, want)
		}
	})
	if dB(off) > limit {
		t.Errorf("the values between the samples are off by %.1f dB", dB(off))
	}
}

// Pulses anywhere, also over each other, over tiles that were not filled in yet
// and over the ends of the track: the track keeps its length, and the values
// between the samples stay those of the samples, but for what the pulse has beyond the band.
func TestSubtractAnywhere(t *testing.T) {
	const n = 700
	random := rand.New(rand.NewPCG(8, 2))
	for range 60 {
		ip := holding(4, noise(random.Uint64(), n))
		levels := 0.0
		for range 30 {
			tile := Reach/Tile + random.IntN((n+Tile-1)/Tile)
			ip.Fill(tile)
			level := 0.2 * random.NormFloat64()
			levels += math.Abs(level)
			frame := tile*Tile + random.IntN(Tile)
			if random.IntN(2) == 0 {
				ip.Fill(tile + 1)
				ip.Subtract(frame*4+random.IntN(4), random.Float64(), level)
			} else {
				ip.SubtractAt(frame, level)
			}
		}
		for i, v := range ip.Signal() {
			if v != 0 && (i < Reach || i >= Reach+n) {
				t.Fatalf("frame %d of %d is %v", i-Reach, n, v)
			}
		}
		wantFilledAgain(t, ip, holding(4, ip.Signal()[Reach:Reach+n]), n, -98+dB(levels))
	}
}

// What is removed from a tile is gone from the track, and from nothing beyond its
// ends, and every value that depends on it is another.
func TestRemove(t *testing.T) {
	const n = 700
	for tile := Reach/Tile - 1; tile <= (Reach+n)/Tile+1; tile++ {
		x, r := noise(uint64(tile), n), noise(99, Tile)
		ip := holding(4, x)
		tiles(n, ip.Fill)
		tiles(n, func(tile int) { ip.Peak(tile) })
		ip.Remove(tile, r)
		for i, v := range r {
			if k := tile*Tile + i - Reach; k >= 0 && k < n {
				x[k] -= v
			}
		}
		want := holding(4, x)
		tiles(n, func(tile int) {
			ip.Fill(tile)
			want.Fill(tile)
			if ip.Peak(tile) != want.Peak(tile) {
				t.Errorf("tile %d: peak %v, want %v", tile, ip.Peak(tile), want.Peak(tile))
			}
		})
		if i := firstDifference(ip.Signal(), want.Signal()); i >= 0 {
			t.Errorf("removed from tile %d: frame %d is %v, want %v", tile, i-Reach, ip.Signal()[i], want.Signal()[i])
		}
		inTrack := func(ip *Interpolator) []float64 { return ip.Values()[Reach*4 : (Reach+n)*4] }
		if i := firstDifference(inTrack(ip), inTrack(want)); i >= 0 {
			t.Errorf("removed from tile %d: value %d differs", tile, i)
		}
	}
}

// After pulses as before, no value passes where the interpolator says that none may.
func TestMayPassIsSafeAfterPulses(t *testing.T) {
	const n = 700
	random := rand.New(rand.NewPCG(8, 3))
	passed := 0
	for seed := range uint64(40) {
		ip := holding(4, bursts(seed, n))
		for range 40 {
			tile := Reach/Tile + random.IntN((n+Tile-1)/Tile)
			ceiling := math.Pow(10, -random.Float64())
			if !ip.MayPass(tile, ceiling) {
				continue
			}
			ip.Fill(tile - 1)
			ip.Fill(tile + 1)
			passed++
			ip.Subtract(tile*Tile*4+random.IntN(4*Tile), random.Float64(), ceiling*random.NormFloat64())
			all := holding(4, ip.Signal()[Reach:Reach+n])
			tiles(n, func(tile int) {
				all.Fill(tile)
				if p := all.Peak(tile); p > ceiling+1e-4 && !ip.MayPass(tile, ceiling) {
					t.Fatalf("signal %d, tile %d: %v passes %v", seed, tile, p, ceiling)
				}
			})
		}
	}
	if passed < 200 {
		t.Errorf("%d pulses: too few to tell", passed)
	}
}
